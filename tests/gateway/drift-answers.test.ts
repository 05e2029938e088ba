/** The answers about drift and maintenance over a store of made-up runs: read once, kept by hearing, healed by late words, begun anew by work told. */
import { beforeEach, describe, expect, test } from 'vitest';
import { readFileSync } from 'node:fs';
import { parseSite } from '../../gateway/config.ts';
import { CounterAnswers } from '../../gateway/counter-answers.ts';
import { DriftAnswers } from '../../gateway/drift-answers.ts';
import { plantOf } from '../../gateway/plant.ts';
import { RunHistory } from '../../gateway/run-history.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { EventQuery, Store } from '../../gateway/store/store.ts';
import { initialChamber } from '../../src/chamber.ts';
import { counters as countersShape } from '../../src/counter-answer.ts';
import { chamberDriftAnswer, driftFleet } from '../../src/drift-answer.ts';
import type { ChamberEvent } from '../../src/event.ts';
import { HOUR, recordOf, runsUnder } from '../src/recorded-runs.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const NOW = 100 * HOUR;
const slow = { first: 114, middle: 18, tail: 20, plasma: 313 };

/** The two facts of each run, with counts that grow. */
const factsOf = (chamber: string, runs: ReturnType<typeof runsUnder>): ChamberEvent[] =>
  runs.flatMap(({ record, ...run }, i): ChamberEvent[] => {
    const id = `${chamber}/${i}-${run.at}`;
    const counts = { pumpMs: run.at, rfMs: run.at / 4, runs: i + 1, unobservedMs: 60_000 };
    return [
      { ...run, kind: 'run-ended', chamber, run: id, doorClosedAt: null, phases: [] },
      { kind: 'run-record', chamber, at: run.at, run: id, record: recordOf({ ...record, counts }), digest: '' },
    ];
  });
const work = (at: number, to: number | null, enteredAt = at): ChamberEvent => ({
  ...{
    kind: 'reason',
    chamber: 'PC-07',
    at,
    entry: `e${at}`,
    to,
    state: 'unscheduled-downtime',
    reason: 'Pump repair',
    note: '',
    by: 'A. Person',
  },
  ...{ enteredAt, downtime: null, workedOn: ['pump'] },
});

let store: Store;
let reads: EventQuery[];
let history: RunHistory;
let drift: DriftAnswers;
const clock = { now: () => NOW, steadyMs: () => 0, speed: 1 };
const cellOf = async (name: string) =>
  (await drift.fleet()).chambers.find(({ chamber }) => chamber === 'PC-07')?.cells.find((cell) => cell.name === name);
const tell = async (events: readonly ChamberEvent[]): Promise<void> => history.note(await store.append({ events, snapshots: new Map() }));

beforeEach(async () => {
  const memory = memoryStore();
  reads = [];
  store = { ...memory, events: (query) => (reads.push(query), memory.events(query)) };
  history = new RunHistory({ store, clock, chambers: plant.ids.length });
  drift = new DriftAnswers({ plant, history, store, clock });
  await store.append({ events: factsOf('PC-07', runsUnder(slow, { runs: 60, faultFrom: 40, seed: 7 })), snapshots: new Map() });
});

describe('drift', () => {
  test('the fleet says what shifted, since when, and what it points to; every chamber is there', async () => {
    const fleet = driftFleet.parse(await drift.fleet());
    expect(fleet.chambers.map(({ chamber }) => chamber)).toEqual(plant.ids);
    const found = fleet.chambers.find(({ chamber }) => chamber === 'PC-07');
    expect(found?.pointsTo?.causes[0]?.cause).toMatch(/^pump speed/);
    expect(await cellOf('pump-down-first')).toMatchObject({ state: 'shifted', size: expect.stringMatching(/^\+1[01]/) });
    expect(fleet.chambers[0]?.cells.every(({ state }) => state === 'no-figure')).toBe(true);
    expect(fleet.notCheckable).toContain('not checkable');
  });

  test('asked again, it reads nothing; a run that ended meanwhile is in it, and late facts find their place', async () => {
    await drift.fleet();
    const before = reads.length;
    await drift.fleet();
    expect(reads.length).toBe(before);
    const calm = runsUnder({}, { runs: 20, faultFrom: 99, seed: 9 }).map((run) => ({ ...run, at: run.at + 60 * HOUR }));
    const facts = factsOf('PC-07', calm);
    await tell(facts.filter((_, i) => i % 2 === 1));
    await tell(facts.filter((_, i) => i % 2 === 0));
    expect(await cellOf('pump-down-first')).toMatchObject({ state: 'steady' });
    expect(reads.length).toBe(before);
  });

  test('told piece by piece in any order it says the same as read at once', async () => {
    const other = new RunHistory({ store: memoryStore(), clock, chambers: 1 });
    await other.of('PC-07');
    const all = (await store.events({ chambers: ['PC-07'] })).toReversed();
    for (const fact of all) other.note([fact]);
    const [a, b] = [await history.of('PC-07'), await other.of('PC-07')];
    expect(b.runs).toEqual(a.runs);
    expect(b.counted).toEqual(a.counted);
  });

  test('work told on the pump begins its figures anew and leaves reflected power; taken back, all is as before', async () => {
    await drift.fleet();
    await tell([work(41 * HOUR, 41.5 * HOUR)]);
    expect(await cellOf('pump-down-first')).toMatchObject({ state: 'learning', learned: { runs: 19, needed: 20 } });
    expect(await cellOf('reflected-fraction')).toMatchObject({ state: 'steady' });
    await tell([{ kind: 'reason-withdrawn', chamber: 'PC-07', at: 90 * HOUR, entry: `e${41 * HOUR}`, by: 'B. Person' }]);
    expect(await cellOf('pump-down-first')).toMatchObject({ state: 'shifted' });
  });

  test('work of longer ago than a new start would read is not kept for ever', async () => {
    const time = { ...clock, at: NOW, now: () => time.at };
    const long = new RunHistory({ store, clock: time, chambers: 1 });
    await long.of('PC-07');
    const later = NOW + 401 * 24 * HOUR;
    const told = async (event: ChamberEvent): Promise<readonly number[]> => {
      long.note(await store.append({ events: [event], snapshots: new Map() }));
      return (await long.of('PC-07')).work.map(({ from }) => from);
    };
    expect(await told(work(41 * HOUR, 42 * HOUR))).toEqual([41 * HOUR]);
    time.at = later + 2 * HOUR;
    expect(await told(work(later, later + HOUR))).toEqual([later]);
  });

  test('work that is not over begins nothing yet', async () => {
    await tell([work(41 * HOUR, NOW + HOUR)]);
    expect(await cellOf('pump-down-first')).toMatchObject({ state: 'shifted' });
  });

  test('a chart has limits, runs, average and causes; unknown recipes, figures and chambers are not found', async () => {
    const query = { chamber: 'PC-07', recipe: null, measure: 'pump-down-first', line: null };
    const answer = chamberDriftAnswer.parse(await drift.chamber(query));
    expect(answer.chart?.points).toHaveLength(60);
    expect(answer.chart?.limits?.usual).toBeCloseTo(103, 0);
    expect(answer.notes.join(' ')).toContain('CF4');
    await expect(drift.chamber({ ...query, recipe: 'NONE' })).rejects.toMatchObject({ code: 'not-found' });
    await expect(drift.chamber({ ...query, measure: 'none' })).rejects.toMatchObject({ code: 'not-found' });
    await expect(drift.chamber({ ...query, chamber: 'PC-99' })).rejects.toMatchObject({ code: 'not-found' });
  });

  test('what is usual and what changed open with the runs they were made of; a figure that is not there does not', async () => {
    const usual = await drift.explained('drift-usual', 'PC-07', ['pump-down-first', '', '']);
    const { chart } = await drift.chamber({ chamber: 'PC-07', recipe: null, measure: 'pump-down-first', line: null });
    expect([usual?.value, usual?.low, usual?.high]).toEqual([chart?.limits?.usual, chart?.limits?.lower, chart?.limits?.upper]);
    expect(usual?.madeOf.length).toBe(20);
    const change = await drift.explained('drift-change', 'PC-07', ['pump-down-first', '', '']);
    expect(change?.value).toBeCloseTo((chart?.cell.value ?? 0) - (chart?.cell.usual ?? 0), 9);
    expect(await drift.explained('drift-usual', 'PC-07', ['none', '', ''])).toBeNull();
    expect(await drift.explained('drift-usual', 'PC-07', ['pump-down', '', 'NONE'])).toBeNull();
  });

  test('the warnings of a week that is over are those known at its end', async () => {
    expect(await drift.warnings(39 * HOUR)).toEqual([]);
    expect(await drift.warnings(NOW)).toMatchObject([{ chamber: 'PC-07', text: expect.stringContaining('Points to pump speed') }]);
  });
});

test('a store that could not be read is asked again, and what was committed meanwhile ends nothing', async () => {
  const events = store.events.bind(store);
  const answer = Promise.withResolvers<never>();
  store.events = () => answer.promise;
  const asked = history.of('PC-07');
  await tell([work(50 * HOUR, 51 * HOUR)]);
  answer.reject(new Error('busy'));
  await expect(asked).rejects.toThrow('busy');
  store.events = events;
  expect((await history.of('PC-07')).runs.length).toBeGreaterThan(50);
});

test('counters: own counts, and each interval of the site file for its chambers with what is left', async () => {
  const state = (id: string) => initialChamber(plant.chamber(id).rules);
  const found = countersShape.parse(await new CounterAnswers({ plant, history, clock, state }).counters());
  expect(found.totals).toHaveLength(3 * plant.ids.length);
  expect(found.totals.find(({ chamber, counted }) => chamber === 'PC-07' && counted === 'pump-hours')).toMatchObject({
    own: 60 * HOUR,
    unobservedMs: 60_000,
  });
  const answers = new CounterAnswers({ plant, history, clock, state });
  expect((await answers.explained('counter', 'PC-07', 'pump-hours'))?.value).toBe(60 * HOUR);
  expect((await answers.explained('counter', 'PC-07', 'unobserved'))?.value).toBe(60_000);
  const line = found.maintenance.find(({ chamber }) => chamber === 'PC-07');
  expect((await answers.explained('maintenance-used', 'PC-07', line?.name ?? ''))?.value).toBe(line?.used);
  expect((await answers.explained('maintenance', 'PC-07', line?.name ?? ''))?.words).toBe(`${line?.name}: ${line?.due}`);
  expect(await answers.explained('maintenance', 'PC-01', 'Electrode cleaning after fluorine')).toBeNull();
  expect(await answers.explained('counter', 'PC-07', 'beers')).toBeNull();
  const pump = found.maintenance.find(({ chamber, part }) => chamber === 'PC-07' && part === 'pump');
  expect(pump).toMatchObject({ used: 60 * HOUR, left: (pump?.every ?? 0) - 60 * HOUR, isSinceWork: false, state: 'unknown' });
  expect(found.maintenance.filter(({ chamber }) => chamber === 'PC-01').map(({ name }) => name)).not.toContain(
    'Electrode cleaning after fluorine',
  );
});
