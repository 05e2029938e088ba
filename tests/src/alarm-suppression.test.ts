import { expect, test } from 'vitest';
import { alarmStatistics } from '../../src/alarm-statistics.ts';
import { suppressionSpans } from '../../src/alarm-suppression.ts';
import type { Suppression } from '../../src/equipment.ts';
import type { AlarmEvent, StoredEvent } from '../../src/event.ts';
import { type AlarmFact, fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { united } from '../../src/spans.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const WINDOW = { from: 0, to: 4 * DAY };
let seq = 0;
const alarm = (hour: number, change: AlarmEvent['change'], as: readonly Suppression[] = [], part: Partial<AlarmEvent> = {}): AlarmFact => ({
  ...{ kind: 'alarm', chamber: 'PC-01', at: hour * HOUR, code: 'WATER', text: 'Cooling water low', priority: 'medium', notice: false },
  ...{ change, counted: true, suppressed: as.length > 0, ...(as.length > 0 || change === 'suppression' ? { suppressedAs: [...as] } : {}) },
  ...part,
  seq: ++seq,
});
const state = (hour: number, name: 'standby' | 'unobserved'): StoredEvent => ({
  ...{ kind: 'equipment-state', chamber: 'PC-01', at: hour * HOUR, state: name, reason: name, source: 'signal', run: null },
  seq: ++seq,
});

function loadOf(...events: readonly StoredEvent[]) {
  const all = [state(-100, 'standby'), ...events];
  const [facts] = fleetFacts({ chambers: ['PC-01'], events: all, heardUntil: { 'PC-01': WINDOW.to } });
  const statistics = alarmStatistics([{ facts: facts!, intervals: stateIntervals(facts!, WINDOW, []) }], null, WINDOW);
  return statistics.chambers[0]!;
}
const hoursOf = (load: ReturnType<typeof loadOf>) => Object.fromEntries(load.suppressions.map(({ as, ms }) => [as, ms / HOUR]));

test('[AU1] overlapping shelving and suppression by design have each their own time, with what was activated meanwhile', () => {
  const load = loadOf(
    alarm(2, 'suppression', ['shelved'], { shelvedUntil: 12 * HOUR }),
    alarm(4, 'activated', ['shelved']),
    alarm(5, 'suppression', ['shelved', 'by design']),
    alarm(6, 'cleared', ['shelved', 'by design']),
    alarm(8, 'suppression', ['by design']),
    alarm(9, 'suppression'),
    alarm(90, 'suppression', ['out of service']),
  );
  expect(hoursOf(load)).toEqual({ shelved: 6, 'by design': 4, 'out of service': 6, 'not told which': 0 });
  expect(
    load.suppressedAlarms.map(({ as, from, to, until, activations }) => [
      as,
      from / HOUR,
      to && to / HOUR,
      until && until / HOUR,
      activations,
    ]),
  ).toEqual([
    ['shelved', 2, 8, 12, 1],
    ['out of service', 90, null, null, 0],
    ['by design', 5, 9, null, 0],
  ]);
  expect(load.suppressions.map(({ atEnd }) => atEnd)).toEqual([0, 0, 1, 0]);
  expect([load.activations, load.suppressed]).toEqual([0, 1]);
});

test('[AU1] what held before the window is cut to it, what was told after it changes nothing', () => {
  const load = loadOf(
    alarm(-20, 'suppression', ['out of service'], { counted: false }),
    alarm(3, 'suppression'),
    alarm(200, 'suppression', ['shelved']),
  );
  expect(load.suppressedAlarms).toMatchObject([{ from: -20 * HOUR, to: 3 * HOUR, ms: 3 * HOUR, beginSeen: false }]);
});

test('[AU2] unobserved time is in no suppressed time', () => {
  const load = loadOf(alarm(2, 'suppression', ['shelved']), state(4, 'unobserved'), state(7, 'standby'), alarm(10, 'suppression'));
  expect(hoursOf(load)['shelved']).toBe(5);
});

test('[AU3] a day of standing while shelved is neither standing time nor stale', () => {
  const stands = (...words: readonly AlarmFact[]) => loadOf(alarm(1, 'activated'), ...words, alarm(40, 'cleared'));
  expect(stands().stale).toHaveLength(1);
  const shelved = stands(alarm(10, 'suppression', ['shelved']), alarm(30, 'suppression'));
  expect(shelved.stale).toEqual([]);
  expect(shelved.worst[0]?.standingMs).toBe(19 * HOUR);
  expect(
    united(
      [
        { from: 0, to: 4 },
        { from: 8, to: 9 },
      ],
      [
        { from: 3, to: 6 },
        { from: 9, to: 10 },
      ],
    ),
  ).toEqual([
    { from: 0, to: 6 },
    { from: 8, to: 10 },
  ]);
});

test('[AU4] facts of an older program were suppressed by what they did not tell', () => {
  const old = [alarm(1, 'activated', [], { suppressed: true }), alarm(3, 'cleared', [], { suppressed: true }), alarm(5, 'activated')];
  expect(suppressionSpans(old, DAY).map(({ as, from, to }) => [as, from / HOUR, to / HOUR])).toEqual([['not told which', 1, 5]]);
});
