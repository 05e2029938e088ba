import { describe, expect, test } from 'vitest';
import { initialWatch, watch, watchBatch, type Watched, type WatchInput, type WatchState } from '../../src/alert-watch.ts';
import { episodes } from '../../src/alarm-stats.ts';
import type { BurstBaseline } from '../../src/burst.ts';
import { type Alert, alert as alertShape } from '../../src/contract.ts';
import type { AlarmEvent, ChamberEvent } from '../../src/event.ts';
import { random } from './random-history.ts';
import { reason, rulesWith } from './watch-fixture.ts';

const [S, MIN] = [1000, 60_000];
const START = Date.UTC(2026, 10, 25, 12);
const alarm = (seconds: number, chamber = 'PC-01', code = `C${seconds}`, part: Partial<AlarmEvent> = {}): AlarmEvent => ({
  kind: 'alarm',
  chamber,
  at: START + seconds * S,
  code,
  text: `text of ${code}`,
  priority: 'high',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
  ...part,
});
const tick = (seconds: number): WatchInput => ({ kind: 'tick', at: START + seconds * S });
const running = (seconds: number, run: string | null, chamber = 'PC-01'): ChamberEvent => ({
  kind: 'equipment-state',
  chamber,
  at: START + seconds * S,
  state: run ? 'productive' : 'standby',
  reason: 'x',
  source: 'tag',
  run,
});

const baseline = (chamber: string, notRunning: number, whileRunning: number): BurstBaseline => {
  const part = (threshold: number) => ({
    per10Min: 0.2,
    threshold,
    observedHours: 500,
    activations: 600,
    expectedFalsePerMonth: 0.04,
    dispersion: 1,
    leftOut: 0,
  });
  return { chamber, observedDays: 42, classes: { running: part(whileRunning), 'not-running': part(notRunning) } };
};
/** Bursts and floods alone: the other rules have tests of their own. */
const RULES = rulesWith(
  {
    baselines: new Map([
      ['PC-01', baseline('PC-01', 4, 6)],
      ['PC-02', baseline('PC-02', 4, 6)],
    ]),
  },
  ['burst', 'flood'],
);

/** Runs inputs through, as JSON between steps, and gives the last version of each alert and all versions. */
function run(inputs: readonly WatchInput[], rules = RULES): { all: Alert[]; last: Alert[]; state: WatchState } {
  let state = initialWatch();
  const all: Alert[] = [];
  for (const input of inputs) {
    const step: Watched = watch(rules, JSON.parse(JSON.stringify(state)) as WatchState, input);
    state = step.state;
    all.push(...step.alerts);
  }
  return { all, last: [...new Map(all.map((alert) => [alert.id, alert])).values()], state };
}
const bursts = (alerts: readonly Alert[]): Alert[] => alerts.filter((alert) => alert.kind === 'burst');

describe('alert watch', () => {
  test('[AW1] the fourth alarm in ten minutes opens a burst where four is the threshold; three do not', () => {
    expect(run([alarm(0), alarm(100), alarm(200)]).all).toEqual([]);
    const { all } = run([alarm(0), alarm(100), alarm(200), alarm(300)]);
    expect(all).toHaveLength(1);
    expect(alertShape.parse(all[0])).toEqual(all[0]);
    expect(all[0]).toMatchObject({
      id: 'burst/PC-01/2026-11-25T12:05:00.000Z',
      kind: 'burst',
      state: 'open',
      startedAt: START + 300 * S,
      alarms: { count: 4, usual: { per10Min: 0.2, threshold: 4 } },
    });
  });

  test('[AW1] four alarms over eleven minutes are no burst', () => {
    expect(run([alarm(0), alarm(200), alarm(400), alarm(600)]).all).toEqual([]);
    expect(run([alarm(0), alarm(200), alarm(400), alarm(599)]).all).toHaveLength(1);
  });

  test('[AW1] chatter is collapsed: one switch a hundred times in ten minutes counts once, and the raw count tells', () => {
    expect(run(Array.from({ length: 99 }, (_, i) => alarm(i * 6, 'PC-01', 'DOOR'))).all).toEqual([]);
    const others = [400, 410, 420].map((s) => alarm(s, 'PC-01', `C${s}`));
    const quick = run([...Array.from({ length: 40 }, (_, i) => alarm(i * 6, 'PC-01', 'DOOR')), ...others]);
    expect(quick.last.filter(({ kind }) => kind === 'burst')[0]).toMatchObject({ alarms: { count: 4, rawCount: 43 } });
    // Kept quiet for a minute each time: twice in ten minutes and no more.
    const slow = run([0, 61, 122, 183, 190, 200].map((s) => alarm(s, 'PC-01', s < 185 ? 'DOOR' : `C${s}`)));
    expect(slow.last.filter(({ kind }) => kind === 'burst')[0]).toMatchObject({ alarms: { count: 4, rawCount: 6 } });
  });

  test('[AW1] chatter during an episode adds to its raw count only', () => {
    const repeats = [310, 320, 330].map((s) => alarm(s, 'PC-01', 'C300'));
    const { last } = run([alarm(0), alarm(100), alarm(200), alarm(300), ...repeats, alarm(400)]);
    expect(bursts(last)[0]).toMatchObject({ alarms: { count: 5, rawCount: 8, peak10Min: 5 } });
  });

  test('[AW1] the position floods at the eleventh alarm of its chambers together, whichever they are of', () => {
    const inputs = Array.from({ length: 11 }, (_, i) => alarm(i * 20, `PC-0${(i % 3) + 1}`));
    const { all } = run(inputs, { ...RULES, baselines: new Map() });
    expect(all).toHaveLength(1);
    expect(all[0]).toMatchObject({ kind: 'flood', position: 'the whole hall', chamber: null, alarms: { count: 11, usual: null } });
    expect(run(inputs.slice(0, 10), { ...RULES, baselines: new Map() }).all).toEqual([]);
  });

  test('[AW1] with named positions each counts its own chambers only', () => {
    const inputs = Array.from({ length: 22 }, (_, i) => alarm(i * 20, i % 2 ? 'PC-01' : 'PC-02'));
    const rules = {
      ...RULES,
      baselines: new Map(),
      positions: [
        { name: 'Amber', chambers: ['PC-01'] },
        { name: 'Birch', chambers: ['PC-02', 'PC-03'] },
      ],
    };
    const { last } = run(inputs, rules);
    expect(last.filter(({ kind }) => kind === 'flood').map(({ position, alarms }) => [position, alarms?.count])).toEqual([
      ['Birch', 11],
      ['Amber', 11],
    ]);
  });

  test('[AW2] one alert per episode: it grows, and closes at the moment the count falls below half', () => {
    const { all, last } = run([alarm(0), alarm(100), alarm(200), alarm(300), alarm(400), tick(5000)]);
    expect(bursts(last)).toHaveLength(1);
    expect(bursts(all).map(({ state, alarms }) => [state, alarms?.count])).toEqual([
      ['open', 4],
      ['open', 5],
      ['closed', 5],
    ]);
    // Below 2 means one left: the alarm at 300 s leaves at 900 s.
    expect(bursts(last)[0]).toMatchObject({
      state: 'closed',
      closedAt: START + 900 * S,
      updatedAt: START + 900 * S,
      alarms: { peak10Min: 5 },
    });
  });

  test('[AW2] it stays one episode while the count wavers between half and whole, and a later burst is another', () => {
    const inputs = [0, 100, 200, 300, 700, 890, 1000, 1100, 4000, 4010, 4020, 4030].map((s) => alarm(s)).concat(tick(9000) as never);
    const { last } = run(inputs);
    expect(bursts(last).map(({ startedAt, alarms }) => [(startedAt - START) / S, alarms?.count])).toEqual([
      [300, 8],
      [4030, 4],
    ]);
  });

  test('[AW2] the flood rule ends below five', () => {
    const eleven = Array.from({ length: 11 }, (_, i) => alarm(i * 30, 'PC-03'));
    const { last } = run([...eleven, tick(3000)]);
    // As floods() of alarm-stats says of the same times: from 300 s until 780 s.
    expect(last.map(({ kind, closedAt }) => [kind, closedAt])).toEqual([
      ['burst', START + 780 * S],
      ['flood', START + 780 * S],
    ]);
  });

  test('[AW3] notices, suppressed alarms, alarms found standing, clearings and acknowledgements do not count', () => {
    const no = (['notice', 'suppressed'] as const).map((key) =>
      [1, 2, 3, 4, 5].map((i) => alarm(i, 'PC-01', `${key}${i}`, { [key]: true })),
    );
    const more = [1, 2, 3, 4, 5].flatMap((i) => [
      alarm(i, 'PC-01', `s${i}`, { counted: false }),
      alarm(i, 'PC-01', `c${i}`, { change: 'cleared' }),
      alarm(i, 'PC-01', `a${i}`, { change: 'acknowledged' }),
    ]);
    expect(run([...no.flat(), ...more]).all).toEqual([]);
  });

  test('[AW4] while running the threshold is the one for running', () => {
    const five = [10, 20, 30, 40, 50].map((s) => alarm(s));
    expect(bursts(run([running(0, null), ...five]).last)).toHaveLength(1);
    expect(bursts(run([running(0, 'r'), ...five]).last)).toHaveLength(0);
    const six = bursts(run([running(0, 'r'), ...five, alarm(60)]).last);
    expect(six[0]).toMatchObject({ alarms: { usual: { threshold: 6 } }, rule: expect.stringContaining('while running') as string });
  });

  test('[AW4] a late state fact does not turn the class back', () => {
    const { state } = run([running(100, 'r'), running(50, null)]);
    expect(state.classes['PC-01']?.run).toBe('r');
  });

  test('[AW4] without enough history only the flood rule holds, and the alert says so', () => {
    const { last } = run(
      Array.from({ length: 11 }, (_, i) => alarm(i * 10, 'PC-03')),
      { ...RULES, baselines: new Map([['PC-03', { chamber: 'PC-03', observedDays: 12.34, classes: null }]]) },
    );
    expect(bursts(last)[0]).toMatchObject({
      alarms: { usual: null, count: 11 },
      rule: expect.stringContaining('history too short for a threshold of its own (12.3 of 30 observed days)') as string,
    });
  });

  test('[AW4] what is usual at a position is the sum over its chambers in their present classes; one without history leaves it open', () => {
    const inputs = [running(-10, 'r', 'PC-02'), ...Array.from({ length: 11 }, (_, i) => alarm(i * 20, `PC-0${(i % 2) + 1}`))];
    const usualOf = (chambers: readonly string[]) =>
      run(inputs, { ...RULES, positions: [{ name: 'Amber', chambers }] }).last.find(({ kind }) => kind === 'flood')?.alarms?.usual;
    expect(usualOf(['PC-01', 'PC-02'])).toMatchObject({ per10Min: 0.4, threshold: 11, observedHours: 500 });
    expect(usualOf(['PC-01', 'PC-02', 'PC-03'])).toBeNull();
  });

  test('[AW5] a flood names the chambers its alarms came from, also those that join later', () => {
    const inputs = Array.from({ length: 11 }, (_, i) => alarm(i * 20, `PC-0${(i % 2) + 1}`));
    const floodOf = (more: readonly WatchInput[]) => run([...inputs, ...more]).last.find(({ kind }) => kind === 'flood')?.together;
    expect(floodOf([])).toEqual(['PC-01', 'PC-02']);
    expect(floodOf([alarm(300, 'PC-03')])).toEqual(['PC-01', 'PC-02', 'PC-03']);
  });

  test('[AW5] two chambers that burst within ten minutes name each other; one that burst an hour ago is not named', () => {
    const old = [0, 1, 2, 3].map((s) => alarm(s, 'PC-02'));
    const { last } = run([
      ...old,
      tick(2000),
      ...[3600, 3601, 3602, 3603].map((s) => alarm(s, 'PC-01')),
      ...[3700, 3701, 3702, 3703].map((s) => alarm(s, 'PC-02')),
    ]);
    expect(bursts(last).map(({ chamber, startedAt, together }) => [chamber, (startedAt - START) / S, together])).toEqual([
      ['PC-02', 3, []],
      ['PC-01', 3603, ['PC-02']],
      ['PC-02', 3703, ['PC-01']],
    ]);
  });

  test('[AW5] a chamber that burst an hour ago and is quiet since is not named', () => {
    const inputs = [0, 1, 2, 3].map((s) => alarm(s, 'PC-02')).concat([3600, 3601, 3602, 3603].map((s) => alarm(s, 'PC-01')));
    expect(bursts(run(inputs).last).map(({ chamber, together }) => [chamber, together])).toEqual([
      ['PC-02', []],
      ['PC-01', []],
    ]);
  });

  test('[AW6] the first-out is the first of the cluster, not a lone alarm minutes before it', () => {
    const eleven = [0, 400, 401, 402, 403, 404, 405, 406, 407, 408, 409].map((s) => alarm(s, 'PC-03'));
    expect(bursts(run(eleven).last)[0]?.alarms?.firstOut).toMatchObject({ code: 'C400', at: START + 400 * S });
    expect(bursts(run([0, 100, 200, 300].map((s) => alarm(s))).last)[0]?.alarms?.firstOut).toMatchObject({
      code: 'C0',
      text: 'text of C0',
    });
  });

  test('[AW7] alarms that come more than ten minutes late wake nobody; a little late they still count', () => {
    const four = [0, 1, 2, 3].map((s) => alarm(s));
    expect(run([tick(603), ...four]).all).toEqual([]);
    expect(bursts(run([tick(300), ...four]).last)).toHaveLength(1);
    expect(bursts(run([alarm(200), alarm(100), alarm(300), alarm(0)]).last)[0]).toMatchObject({
      alarms: { count: 4, firstOut: { code: 'C0' } },
    });
  });

  test('[AW8] ticks between the facts change nothing of what the alerts say, on 200 random alarm streams', () => {
    for (let seed = 0; seed < 200; seed++) {
      const { alarms, ticks } = stream(seed);
      const inputs = [...alarms, ...ticks].sort((a, b) => a.at - b.at || (a.kind === 'tick' ? 1 : -1));
      const end = tick(100_000);
      expect(byId(run([...inputs, end]).last)).toEqual(byId(run([...alarms, end]).last));
    }
  });

  test('[AW2] episodes of one chamber are those that the statistics find in the same times, on 200 random streams', () => {
    for (let seed = 0; seed < 200; seed++) {
      const alarms = stream(seed).alarms.filter(({ chamber }) => chamber === 'PC-01');
      const found = bursts(run([...alarms, tick(100_000)]).last).map(({ startedAt, closedAt, alarms: counted }) => ({
        from: startedAt,
        to: closedAt,
        peak: counted?.peak10Min,
      }));
      expect(found).toEqual(
        episodes(
          alarms.map(({ at }) => at),
          { open: 4, closeBelow: 2 },
        ),
      );
    }
  });

  test('[AW2] a batch gives each alert once per stage and in the order of time, however its events are mixed', () => {
    const events = [300, 0, 200, 100].map((s) => alarm(s));
    const { alerts, state } = watchBatch(RULES, initialWatch(), { events, now: START + 310 * S });
    expect(alerts.map(({ state: stage, alarms }) => [stage, alarms?.count])).toEqual([['open', 4]]);
    const over = watchBatch(RULES, state, { events: [alarm(320)], now: START + 90 * MIN });
    expect(over.alerts.map(({ state: stage, alarms }) => [stage, alarms?.count])).toEqual([
      ['open', 5],
      ['closed', 5],
    ]);
    expect(over.state.subjects).toEqual({});
  });

  test('[AW8] facts that trail the clock by the lag allowed still meet in one window', () => {
    const first = watchBatch(RULES, initialWatch(), { events: [alarm(0), alarm(1)], now: START + 25 * S });
    const second = watchBatch(RULES, first.state, { events: [alarm(598), alarm(599)], now: START + 620 * S });
    expect(second.alerts).toHaveLength(1);
    const strict = { ...RULES, lagMs: 0 };
    const early = watchBatch(strict, watchBatch(strict, first.state, { events: [], now: START + 620 * S }).state, {
      events: [alarm(598), alarm(599)],
      now: START + 621 * S,
    });
    expect(early.alerts).toHaveLength(0);
    const waited = watchBatch(RULES, watchBatch(RULES, first.state, { events: [], now: START + 620 * S }).state, {
      events: [alarm(598), alarm(599)],
      now: START + 621 * S,
    });
    expect(waited.alerts).toHaveLength(1);
  });

  test('[AW8] a tick with nothing to do gives the same state back, but for its time', () => {
    const { state } = run([alarm(0)]);
    expect(watch(RULES, state, tick(100)).state.subjects).toBe(state.subjects);
    const later = watch(RULES, state, tick(100)).state;
    expect(watch(RULES, later, tick(50)).state).toBe(later);
  });
});

describe('all rules together', () => {
  const all = rulesWith({ servers: { 'PC-01': 'a', 'PC-02': 'a', 'PC-03': 'b' }, lagMs: 0 });

  test('[AX1] ticks between the facts change nothing of what any alert says, on 30 random histories', () => {
    for (let seed = 0; seed < 30; seed++) {
      const events = history(seed);
      const last = (events.at(-1) as ChamberEvent).at;
      const chance = random(seed + 1000);
      const ticks = Array.from({ length: 100 }, () => ({ kind: 'tick' as const, at: START + Math.floor(chance() * (last - START)) }));
      const inputs = [...events, ...ticks].sort((a, b) => a.at - b.at || Number(a.kind === 'tick') - Number(b.kind === 'tick'));
      const end: WatchInput = { kind: 'tick', at: last + 1e9 };
      expect(byId(run([...inputs, end], all).last)).toEqual(byId(run([...events, end], all).last));
    }
  });

  test('[AX1] every kind that comes of facts occurs in these histories, and nothing stays in the state when all is over', () => {
    const kinds = new Set<string>();
    for (let seed = 0; seed < 30; seed++) for (const { kind } of run([...history(seed), tick(1e7)], all).last) kinds.add(kind);
    expect([...kinds].sort()).toEqual(['burst', 'chattering', 'common-cause', 'down', 'flood', 'no-data', 'stale', 'waiting']);
  });

  test('[AX2] what was over before anybody could know, more than ten minutes ago, wakes nobody', () => {
    const [down, up] = [stop(0), { ...stop(2400), state: 'standby' as const, reason: 'idle' }];
    const only = rulesWith({}, ['down']);
    expect(run([tick(9000), down, up], only).all).toEqual([]);
    expect(run([tick(2300), down, up], only).all.map(({ state }) => state)).toEqual(['open', 'closed']);
    expect(run([tick(9000), down, tick(9001)], only).last.map(({ state }) => state)).toEqual(['open']);
  });

  test('[AX4] what a chamber holds that the site file has no more is over, and nothing of it is told later', () => {
    const rules = rulesWith({}, ['down', 'no-data', 'waiting']);
    const silence = { ...stop(0, 'PC-03'), state: 'unobserved' as const, reason: 'no data' };
    const { state } = run([stop(0), stop(1000, 'PC-02'), silence, tick(2000)], rules);
    const { state: later, alerts } = watch({ ...rules, chambers: ['PC-09'] }, state, tick(4000));
    expect(alerts.map(({ kind, chamber, state: is }) => [kind, chamber, is])).toEqual([
      ['down', 'PC-01', 'closed'],
      ['no-data', 'PC-03', 'closed'],
    ]);
    expect([later.holds, later.silences, later.classes]).toEqual([{}, {}, {}]);
  });

  test('[AX4] so is a process check of it, and what it shared with others goes on and ends without it', () => {
    const rules = rulesWith({}, ['process-check', 'common-cause']);
    const purge = { kind: 'finding', at: START, code: 'purge-short', text: 'x', run: null } as const;
    const water = (chamber: string) => alarm(0, chamber, 'WATER');
    const { state } = run([...rules.chambers.map(water), { ...purge, chamber: 'PC-01' }, tick(60)], rules);
    const { state: later, alerts } = watch({ ...rules, chambers: ['PC-03'] }, state, tick(120));
    expect(alerts.map(({ kind, headline }) => [kind, headline])).toEqual([
      ['process-check', 'PC-01: over. The site file has this chamber no more.'],
    ]);
    expect([later.runs, later.causes.causes[0]?.standing]).toEqual([{}, ['PC-03|WATER']]);
    const end = watch({ ...rules, chambers: ['PC-03'] }, later, tick(120 + 601));
    expect(end.alerts.map(({ kind, state: is }) => [kind, is])).toEqual([['common-cause', 'closed']]);
  });

  test('[AX3] a reason is taken when it is told, whatever time it speaks of', () => {
    const told = reason(-60, { enteredAt: START, to: null });
    const { state } = watchBatch(rulesWith({}, ['down']), initialWatch(), { events: [told, stop(0)], now: START + 1000 });
    expect(state.holds['down/PC-01']?.told).toEqual({ entry: 'e1', to: null });
  });
});

const stop = (seconds: number, chamber = 'PC-01'): Extract<ChamberEvent, { kind: 'equipment-state' }> => ({
  ...{
    kind: 'equipment-state',
    chamber,
    at: START + seconds * S,
    state: 'unscheduled-downtime',
    reason: 'tripped: x',
    source: 'signal',
    run: null,
  },
});

/** Three chambers that trip, wait, fall silent and raise alarms, alone and together. */
function history(seed: number): ChamberEvent[] {
  const chance = random(seed);
  const events: ChamberEvent[] = [];
  let at = 0;
  const states = [stop(0), { ...stop(0), reason: 'repair: x' }, { ...stop(0), state: 'standby', reason: 'waiting for unload' }] as const;
  const more = [
    ...states,
    { ...stop(0), state: 'unobserved', reason: 'no data' },
    { ...stop(0), state: 'productive', reason: 'run', run: 'r' },
  ] as const;
  for (let i = 0; i < 80; i++) {
    at += 1 + Math.floor(chance() < 0.3 ? chance() * 9000 : chance() * 40);
    const chambers = chance() < 0.15 ? ['PC-01', 'PC-02', 'PC-03'] : [`PC-0${1 + Math.floor(chance() * 3)}`];
    const [kind, pick, code] = [chance(), Math.floor(chance() * more.length), `C${Math.floor(chance() * 12)}`];
    for (const chamber of chambers) {
      if (kind < 0.3) events.push({ ...(more[pick] as (typeof more)[number]), chamber, at: START + at * S });
      else if (kind < 0.85) events.push(alarm(at, chamber, code, { change: chance() < 0.35 ? 'cleared' : 'activated' }));
      else for (let n = 0; n < 12; n++) events.push(alarm(at + n, chamber, chance() < 0.5 ? 'HUNT' : `B${n}`));
    }
    if (kind >= 0.85) at += 12;
  }
  return events.sort((a, b) => a.at - b.at);
}

const byId = (alerts: readonly Alert[]): Alert[] => alerts.toSorted((a, b) => (a.id < b.id ? -1 : 1));

/** Alarms of distinct codes in bursts and lulls, and ticks of their own. */
function stream(seed: number): { alarms: AlarmEvent[]; ticks: { kind: 'tick'; at: number }[] } {
  const chance = random(seed);
  const alarms: AlarmEvent[] = [];
  let at = 0;
  for (let i = 0; i < 60; i++) {
    at += 1 + Math.floor(chance() < 0.1 ? chance() * 4000 : chance() * 200);
    alarms.push(alarm(at, chance() < 0.7 ? 'PC-01' : 'PC-02', `C${i}`));
  }
  return { alarms, ticks: Array.from({ length: 100 }, () => ({ kind: 'tick' as const, at: START + Math.floor(chance() * at) * S + 500 })) };
}
