/** What a window's numbers hold beside their hours, loads and alarms, for tests that are about something else: computed by the rules, of nothing. */
import { effectiveness, isoFigures, NO_WORK } from '../../src/effectiveness.ts';
import type { StateTimes, WindowNumbers } from '../../src/numbers.ts';
import { reliabilityNumbers } from '../../src/reliability-numbers.ts';
import { dependentUptimes } from '../../src/utilization.ts';

type Rest = Pick<
  WindowNumbers,
  'equipmentDependentUptime' | 'supplierDependentUptime' | 'reliability' | 'oee' | 'iso22400' | 'waiting' | 'shiftLoads' | 'throughput'
>;

export const restOfNumbers = (time: StateTimes): Rest => ({
  ...dependentUptimes(time, { equipmentMs: 0, supplierMs: 0, unexplainedMs: 0 }),
  reliability: reliabilityNumbers(time, { stops: [], downtimeEvents: 0, cycles: 0, failureTimesMs: [] }),
  oee: effectiveness(time, NO_WORK),
  iso22400: isoFigures(time, NO_WORK),
  waiting: [],
  shiftLoads: [],
  throughput: [],
});
