/** Each fault that can be ordered has the effect that the trade would expect of it. */
import { describe, expect, test } from 'vitest';
import type { FaultOrder, TruthLine } from '../../../gateway/simulator/plant-port.ts';
import { HOUR, type Line, lines, median, MONDAY, type Story, story, type Told } from './plant-story.ts';

const MINUTE = 60_000;
/** Tuesday 08:00 in Berlin: a quiet hour of the second story week. */
const START = MONDAY + 31 * HOUR;
const ORDER_AT = START + 2 * HOUR;

/** A plant that ran two hours, got an order and ran on. */
function ordered(order: Partial<FaultOrder> & Pick<FaultOrder, 'fault'>, hours: number): Story {
  const lived = story({ from: START, pace: 'history', seed: 11 });
  lived.plant.advance(ORDER_AT, lived.sink);
  lived.plant.inject({ chamber: null, size: null, durationMs: null, ...order });
  lived.plant.advance(ORDER_AT + hours * HOUR, lived.sink);
  lived.plant.closeTruth();
  return lived;
}
const alarms = (lived: Story, code: string, chamber?: string): Line<'alarm'>[] =>
  lines(lived.truth, 'alarm').filter(
    (line) => line.code === code && line.from >= ORDER_AT && (chamber === undefined || line.chamber === chamber),
  );
const later = (lived: Story, path: string): Told[] => lived.told.filter((each) => each.path === path && each.at > ORDER_AT);
const stateAt = (truth: readonly TruthLine[], chamber: string, at: number): string | undefined =>
  lines(truth, 'state').find((line) => line.chamber === chamber && line.from <= at && line.to > at)?.state;

/** Median pressure at the end of the second plasma step. */
function plasmaPressure(lived: Story, chamber: string): number {
  const ends = lines(lived.truth, 'phase')
    .filter((line) => line.chamber === chamber && line.step === 2 && line.from > ORDER_AT)
    .map(({ to }) => to);
  const told = lived.told.filter(({ path }) => path === `${chamber}/Chamber/Pressure`);
  return median(ends.map((at) => Number(told.filter((each) => each.at <= at - 3000).at(-1)!.value)));
}
const pumpDown = (lived: Story, chamber: string): number =>
  median(
    lines(lived.truth, 'phase')
      .filter((line) => line.chamber === chamber && line.phase === 'pump-down' && line.from > ORDER_AT)
      .map((line) => (line.to - line.from) / 1000),
  );

describe('on one chamber', () => {
  test('a leak of 300 mTorr/min raises plasma pressure by about an eighth and lengthens the tail of pump-down', () => {
    const healthy = ordered({ fault: 'skip-purge', chamber: 'PC-01' }, 8);
    const leaking = ordered({ fault: 'leak', chamber: 'PC-08', size: 300 }, 8);
    const rise = plasmaPressure(leaking, 'PC-08') / plasmaPressure(healthy, 'PC-08');
    expect(rise).toBeGreaterThan(1.06);
    expect(rise).toBeLessThan(1.2);
    expect(pumpDown(leaking, 'PC-08')).toBeGreaterThan(pumpDown(healthy, 'PC-08') + 30);
  });

  test('a leak that keeps the chamber from its base pressure is found, alarmed and repaired', () => {
    const lived = ordered({ fault: 'leak', chamber: 'PC-08', size: 1500 }, 16);
    expect(alarms(lived, 'PUMPDOWN_TIMEOUT', 'PC-08')).toHaveLength(1);
    expect(alarms(lived, 'DOOR_SEAL_LEAK', 'PC-08')).toHaveLength(1);
    const leak = lines(lived.truth, 'fault').find(({ fault }) => fault === 'leak')!;
    expect(stateAt(lived.truth, 'PC-08', leak.to! - MINUTE)).toBe('unscheduled-downtime');
    expect(lines(lived.truth, 'run').some((run) => run.chamber === 'PC-08' && run.from > leak.to! && run.outcome === 'completed')).toBe(
      true,
    );
  });

  test('pump wear of 20 % a day slows pump-down and raises plasma pressure', () => {
    const healthy = ordered({ fault: 'skip-purge', chamber: 'PC-01' }, 20);
    const worn = ordered({ fault: 'pump-wear', chamber: 'PC-08', size: 20, durationMs: 30 * HOUR }, 20);
    expect(pumpDown(worn, 'PC-08')).toBeGreaterThan(1.05 * pumpDown(healthy, 'PC-08'));
    expect(plasmaPressure(worn, 'PC-08')).toBeGreaterThan(1.05 * plasmaPressure(healthy, 'PC-08'));
  });

  test('a fault that lasts until repaired is gone after planned maintenance', () => {
    const lived = ordered({ fault: 'pump-wear', chamber: 'PC-05', size: 5 }, 20);
    const wear = lines(lived.truth, 'fault').find(({ fault, chamber }) => fault === 'pump-wear' && chamber === 'PC-05')!;
    const maintenance = lines(lived.truth, 'state').find(
      ({ chamber, state, from }) => chamber === 'PC-05' && state === 'scheduled-downtime' && from > ORDER_AT,
    )!;
    expect(wear.to! - maintenance.to).toBeLessThanOrEqual(1000);
    expect(maintenance.to - wear.to!).toBeLessThanOrEqual(0);
  });

  test('drift of a flow controller does not show in its own reading', () => {
    const lived = ordered({ fault: 'mfc-drift', chamber: 'PC-08', size: -40, durationMs: 30 * HOUR }, 20);
    const [set, flow] = ['PC-08/Gas2/FlowSetPoint', 'PC-08/Gas2/Flow'].map((path) => lived.told.filter((each) => each.path === path));
    const last = set!.filter((each) => Number(each.value) > 0).at(-1)!;
    // What does not change any more is not told again: the last word holds.
    const shown = flow!.filter((each) => each.at > last.at && each.at < last.at + 10 * MINUTE).at(-1);
    expect(Math.abs(Number(shown?.value) / Number(last.value) - 1)).toBeLessThan(0.05);
    expect(alarms(lived, 'FLOW_DEVIATION', 'PC-08').length).toBeLessThan(2);
  });

  test('a hunting match brings reflected-power alarms by the dozen and none after it is over', () => {
    const lived = ordered({ fault: 'match-hunting', chamber: 'PC-06', size: 22, durationMs: 4 * HOUR }, 7);
    const own = alarms(lived, 'RF_REFL_HIGH', 'PC-06');
    expect(own.filter(({ from }) => from < ORDER_AT + 4 * HOUR).length).toBeGreaterThan(50);
    expect(own.filter(({ from }) => from > ORDER_AT + 4.1 * HOUR).length).toBeLessThan(5);
  });

  test('an RF trip ends the run, stops the chamber, brings maintenance, and ends with mode auto', () => {
    const lived = ordered({ fault: 'rf-trip', chamber: 'PC-05' }, 14);
    const trip = alarms(lived, 'RF_FAULT', 'PC-05')[0]!;
    expect(trip.from).toBe(ORDER_AT + 1000);
    expect(stateAt(lived.truth, 'PC-05', trip.from)).toBe('unscheduled-downtime');
    const modes = later(lived, 'PC-05/Sequence/Mode').map(({ value }) => value);
    expect(modes.slice(0, 2)).toEqual([3, 1]);
    const down = lines(lived.truth, 'state').find((line) => line.chamber === 'PC-05' && line.from === trip.from)!;
    expect(later(lived, 'PC-05/Sequence/Mode')[1]!.at).toBe(down.to);
  });

  test('a chattering door switch flickers for a second or two and never ends a run', () => {
    const lived = ordered({ fault: 'chattering-switch', chamber: 'PC-03', size: 1, durationMs: 3 * HOUR }, 4);
    expect(alarms(lived, 'DOOR_NOT_CLOSED', 'PC-03').length).toBeGreaterThan(15);
    const inRun = lines(lived.truth, 'run').filter((run) => run.chamber === 'PC-03' && run.from > ORDER_AT);
    const flickers = later(lived, 'PC-03/Chamber/DoorClosed').filter(
      ({ value, at }) => value === false && inRun.some((run) => at > run.from && at < run.to),
    );
    expect(flickers.length).toBeGreaterThan(5);
  });

  test('a restart of the controller leaves it silent, its run interrupted, its hour meters at zero', () => {
    const lived = ordered({ fault: 'controller-restart', chamber: 'PC-02', size: 1 }, 2);
    const told = lived.told.filter(({ path, at }) => path.startsWith('PC-02') && at > ORDER_AT);
    const silence = Math.max(...told.slice(1).map((each, i) => each.at - told[i]!.at));
    expect(told[0]!.at - ORDER_AT + silence).toBeGreaterThan(25_000);
    expect(Number(later(lived, 'PC-02/Meter/PumpHours')[0]!.value)).toBeLessThan(1);
    expect(stateAt(lived.truth, 'PC-02', ORDER_AT + 2000)).toBe('unscheduled-downtime');
  });

  test('a burst is that many activations in five minutes', () => {
    const lived = ordered({ fault: 'alarm-burst', chamber: 'PC-03', size: 14 }, 1);
    const own = lines(lived.truth, 'alarm').filter(
      (line) => line.chamber === 'PC-03' && line.from >= ORDER_AT && line.from < ORDER_AT + 7 * MINUTE,
    );
    expect(own.length).toBeGreaterThanOrEqual(8);
  });

  test('an operator stops the run that is going on', () => {
    const lived = story({ from: START, pace: 'history', seed: 11 });
    lived.plant.advance(ORDER_AT, lived.sink);
    const open = (lived.plant.snapshot() as { chambers: { phase: string }[] }).chambers.findIndex(({ phase }) => phase === 'plasma');
    const chamber = lived.plant.chambers[open]!.id;
    lived.plant.inject({ fault: 'operator-abort', chamber, size: null, durationMs: null });
    lived.plant.advance(ORDER_AT + HOUR, lived.sink);
    const run = lines(lived.truth, 'run').find((each) => each.chamber === chamber && each.from < ORDER_AT && each.to > ORDER_AT)!;
    expect(run.outcome).toBe('aborted');
  });

  test('the next run of product goes without purge when somebody skips it', () => {
    const lived = ordered({ fault: 'skip-purge', chamber: 'PC-06' }, 4);
    const run = lines(lived.truth, 'run').find((each) => each.chamber === 'PC-06' && each.from > ORDER_AT && each.outcome === 'completed')!;
    const phases = lines(lived.truth, 'phase')
      .filter((line) => line.chamber === 'PC-06' && line.from >= run.from && line.to <= run.to)
      .map(({ phase }) => phase);
    expect(phases).not.toContain('purge');
    expect(phases).toContain('vent');
  });
});

describe('across the hall', () => {
  test('a power dip stops all twelve within three seconds and keeps them down 15 to 40 minutes', () => {
    const lived = ordered({ fault: 'power-dip' }, 3);
    const dips = alarms(lived, 'POWER_DIP');
    expect(new Set(dips.map(({ chamber }) => chamber)).size).toBe(12);
    expect(Math.max(...dips.map(({ from }) => from)) - ORDER_AT).toBeLessThanOrEqual(5000);
    const down = lines(lived.truth, 'state').filter(({ reason }) => reason === 'power dip');
    for (const { from, to } of down) {
      expect((to - from) / MINUTE).toBeGreaterThan(14);
      expect((to - from) / MINUTE).toBeLessThan(46);
    }
    const hit = lines(lived.truth, 'run').filter((run) => run.from < ORDER_AT && run.to > ORDER_AT);
    expect(hit.length).toBeGreaterThan(0);
    expect(hit.some(({ outcome }) => outcome === 'interrupted')).toBe(true);
  });

  test('lost water trips RF only where it is on, only on its loop', () => {
    const lived = ordered({ fault: 'cooling-water', durationMs: 40 * MINUTE }, 2);
    const water = new Set(
      alarms(lived, 'WATER_FLOW_LOW')
        .filter(({ from }) => from < ORDER_AT + 2 * MINUTE)
        .map(({ chamber }) => chamber),
    );
    expect([...water].sort()).toEqual(['PC-07', 'PC-08', 'PC-09', 'PC-10', 'PC-11', 'PC-12']);
    const tripped = alarms(lived, 'RF_FAULT').filter(({ from }) => from < ORDER_AT + 2 * MINUTE);
    expect(tripped.length).toBeGreaterThan(0);
    for (const { chamber, from } of tripped) {
      expect(water).toContain(chamber);
      const plasma = lines(lived.truth, 'phase').find((line) => line.chamber === chamber && line.phase === 'plasma' && line.to === from);
      expect(plasma).toBeDefined();
    }
  });

  test('without water no plasma is lit on that loop until the water is back', () => {
    const lived = ordered({ fault: 'cooling-water', size: 5, durationMs: 2 * HOUR }, 4);
    const lit = lines(lived.truth, 'phase').filter(
      ({ phase, chamber, from }) => phase === 'plasma' && chamber >= 'PC-07' && from > ORDER_AT + MINUTE,
    );
    expect(lit.filter(({ from }) => from < ORDER_AT + 2 * HOUR)).toEqual([]);
    expect(lit.length).toBeGreaterThan(0);
  });

  test('short nitrogen lengthens the vents before and while it alarms everywhere', () => {
    const lived = ordered({ fault: 'house-gas', size: 45, durationMs: HOUR }, 3);
    expect(new Set(alarms(lived, 'N2_PRESSURE_LOW').map(({ chamber }) => chamber)).size).toBe(12);
    const vents = lines(lived.truth, 'phase').filter(({ phase, from, to }) => phase === 'vent' && from > ORDER_AT && to < ORDER_AT + HOUR);
    expect(median(vents.map(({ from, to }) => (to - from) / 1000))).toBeGreaterThan(180);
  });

  test.each(['link-drop', 'half-open-link'] as const)('%s takes the link of one server away for its time', (fault) => {
    const lived = ordered({ fault, chamber: 'PC-01', durationMs: 3 * MINUTE }, 1);
    const link = later(lived, 'link:amber');
    expect(link.map(({ value, at }) => [value, at - ORDER_AT])).toEqual([
      [fault === 'link-drop' ? 'drop' : 'half-open', 1000],
      ['up', 181_000],
    ]);
    expect(lines(lived.truth, 'link').some(({ server, to }) => server === 'amber' && to === ORDER_AT + 181_000)).toBe(true);
  });
});
