/** The alarm statistics of 200 random journals against another way to count: plain SQL over the same facts, and the flood rule second by second. */
import { DatabaseSync } from 'node:sqlite';
import { expect, test } from 'vitest';
import { alarmStatistics } from '../../src/alarm-statistics.ts';
import { fleetFacts } from '../../src/facts.ts';
import type { StoredEvent } from '../../src/event.ts';
import { stateIntervals } from '../../src/interval.ts';
import { random } from '../src/random-history.ts';

const HOUR_S = 3600;
const SPAN_S = 24 * HOUR_S;
const CHAMBERS = ['PC-01', 'PC-02', 'PC-03'];
type Row = { readonly chamber: string; readonly code: string; readonly s: number };

/** A quiet background of 20 codes, some chatter and one heap that may become a flood; whole seconds, none twice for one alarm. */
function journal(seed: number): Row[] {
  const chance = random(seed);
  const pick = (): Pick<Row, 'chamber' | 'code'> => ({
    chamber: CHAMBERS[Math.floor(chance() * 3)] as string,
    code: `C${Math.floor(chance() * 20)}`,
  });
  const rows: Row[] = Array.from({ length: Math.floor(chance() * 60) }, () => ({ ...pick(), s: Math.floor(chance() * SPAN_S) }));
  const [hunting, begin, every] = [pick(), Math.floor(chance() * SPAN_S * 0.9), 10 + Math.floor(chance() * 40)];
  for (let i = 0; i < chance() * 40; i++) rows.push({ ...hunting, s: begin + i * every });
  const heap = Math.floor(chance() * SPAN_S * 0.9);
  for (let i = 0; i < chance() * 30; i++) rows.push({ ...pick(), s: heap + Math.floor(chance() * 900) });
  const known = new Set<string>();
  return rows.filter(({ chamber, code, s }) => s < SPAN_S && known.size < known.add(`${chamber} ${code} ${s}`).size);
}

const eventsOf = (rows: readonly Row[]): StoredEvent[] =>
  rows.map(({ chamber, code, s }, i) => ({
    ...{ kind: 'alarm', chamber, at: s * 1000, code, text: code, priority: 'low', notice: false, change: 'activated' },
    ...{ counted: true, suppressed: false, seq: i + 10 },
  }));
const standby = (chamber: string, seq: number): StoredEvent => ({
  ...{ kind: 'equipment-state', chamber, at: -1, state: 'standby', reason: 'idle', source: 'tag', run: null },
  seq,
});

function counted(rows: readonly Row[]): Record<string, number> {
  const db = new DatabaseSync(':memory:');
  db.exec('create table a (chamber text, code text, s integer)');
  const insert = db.prepare('insert into a values (?, ?, ?)');
  for (const { chamber, code, s } of rows) insert.run(chamber, code, s);
  const one = (sql: string): number => Number(Object.values(db.prepare(sql).get() as object)[0] ?? 0);
  const found = {
    activations: one('select count(*) from a'),
    top: one('select sum(n) from (select count(*) n from a group by chamber, code order by n desc limit 10)'),
    crowded: one('select count(*) from (select s / 600 from a group by s / 600 having count(*) > 10)'),
    hours: one('select count(*) from (select s / 3600 from a group by s / 3600 having count(*) > 30)'),
    peak: one('select max((select count(*) from a b where b.s > a.s - 600 and b.s <= a.s)) from a'),
    chattering: one(`select count(*) from (select distinct chamber, code from
      (select chamber, code, s, lag(s, 2) over (partition by chamber, code order by s) third from a) where s - third < 60)`),
  };
  db.close();
  return found;
}

/** Seconds in flood: above 10 in (t - 600, t] it begins, below 5 it ends. */
function floodSeconds(rows: readonly Row[]): number {
  const at = new Map<number, number>();
  for (const { s } of rows) at.set(s, (at.get(s) ?? 0) + 1);
  let [trailing, isFlood, sum] = [0, false, 0];
  for (let s = 0; s < SPAN_S; s++) {
    trailing += (at.get(s) ?? 0) - (at.get(s - 600) ?? 0);
    isFlood = isFlood ? trailing >= 5 : trailing > 10;
    if (isFlood) sum += 1;
  }
  return sum;
}

test('rates, peak, crowded periods, flood time, top-ten share and chattering of 200 random journals are those that SQL and a walk from second to second find', () => {
  let [floods, chatterers] = [0, 0];
  for (let seed = 1; seed <= 200; seed++) {
    const rows = journal(seed);
    const window = { from: 0, to: SPAN_S * 1000 };
    const heardUntil = Object.fromEntries(CHAMBERS.map((chamber) => [chamber, window.to]));
    const facts = fleetFacts({ chambers: CHAMBERS, events: [...CHAMBERS.map(standby), ...eventsOf(rows)], heardUntil });
    const subjects = facts.map((own) => ({ facts: own, intervals: stateIntervals(own, window, []) }));
    const [load] = alarmStatistics(subjects, [], window).positions;
    const value = (name: string): number | null | undefined => load?.lines.find((line) => line.name === name)?.value;
    const [other, floodS] = [counted(rows), floodSeconds(rows)];
    const { activations = 0, top = 0 } = other;
    expect([seed, value('alarms per day'), value('alarms per hour')]).toEqual([seed, activations, activations / 24]);
    expect([seed, value('share of the ten most frequent')]).toEqual([seed, activations > 0 ? top / activations : 0]);
    expect([seed, value('most in any 10 min'), value('chattering alarms')]).toEqual([seed, other['peak'], other['chattering']]);
    expect([seed, value('10-minute periods above 10')]).toEqual([seed, ((other['crowded'] ?? 0) * 600_000) / 86_400_000]);
    expect([seed, value('hours above 30')]).toEqual([seed, ((other['hours'] ?? 0) * 3_600_000) / 86_400_000]);
    expect([seed, value('time in flood')]).toEqual([seed, floodS / SPAN_S]);
    [floods, chatterers] = [floods + (floodS > 0 ? 1 : 0), chatterers + (other['chattering'] ?? 0)];
  }
  // Journals without any flood or chatter would show nothing.
  expect(floods).toBeGreaterThan(50);
  expect(chatterers).toBeGreaterThan(50);
});
