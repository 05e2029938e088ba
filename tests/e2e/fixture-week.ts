/** An invented week for trying the manager's page: hours that sum exactly, a chamber nobody heard for long, an alarm that chatters. */
import type { WeekLine } from '../../src/contract.ts';
import type { EquipmentState } from '../../src/equipment.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { RecipeTimes, StateTimes, WeekPage, WindowNumbers } from '../../src/numbers.ts';
import { restOfNumbers } from '../src/kpi-example.ts';
import { dice, share, type Dice } from './fixture-plant.ts';

const HOUR = 3_600_000;
const MIN = 60_000;
const WEEK_FROM = Date.UTC(2026, 10, 22, 23);

function times(totalMs: number, shares: Partial<Record<EquipmentState, number>>): StateTimes {
  const time = Object.fromEntries(EQUIPMENT_STATES.map((state) => [state, Math.round(totalMs * (shares[state] ?? 0))])) as StateTimes;
  const rest = totalMs - Object.values(time).reduce((sum, ms) => sum + ms, 0);
  return { ...time, standby: time.standby + rest };
}

function recipe(name: string, minutes: number, runs: number): RecipeTimes {
  const spread = (m: number): { n: number; p10: number; p50: number; p90: number } => ({
    n: runs,
    p10: m * 0.93 * MIN,
    p50: m * MIN,
    p90: m * 1.31 * MIN,
  });
  const waitForUnload = { n: runs, p50: 2 * MIN, p95: 21 * MIN, sumMs: runs * 4 * MIN };
  return { recipe: name, runs, processTime: spread(minutes - 12), cycleTime: spread(minutes), waitForUnload, phases: [] };
}

function numbers(chamber: string | null, index: number, chambers: number, random: Dice): WindowNumbers {
  const unobserved = index === 8 ? 0.24 : 0.012;
  const productive = (index === 8 ? 0.2 : 0.34) + 0.16 * random();
  const time = times(168 * HOUR * chambers, {
    productive,
    engineering: 0.01,
    'scheduled-downtime': 0.02,
    'unscheduled-downtime': index === 6 ? 0.11 : 0.03,
    nonscheduled: 0.235,
    unobserved,
  });
  const value = time.productive / (168 * HOUR * chambers - time.nonscheduled - time.unobserved);
  return {
    chamber,
    chambers,
    from: WEEK_FROM,
    to: WEEK_FROM + 168 * HOUR,
    time,
    ...restOfNumbers(time),
    totalUtilization: share('total utilization', productive, 1 - unobserved),
    // Unseen time may all have been operations time: its coverage is the smaller.
    operationalUtilization: share('operational utilization', value, 1 - unobserved / (1 - 0.235)),
    totalUptime: share('total uptime', 0.72, 1 - unobserved),
    operationalUptime: share('operational uptime', 0.93, 1 - unobserved),
    loads: { completed: Math.round(productive * 230) * chambers, aborted: 1, interrupted: 1, notFullyObserved: 2, engineering: 2 },
    recipes: [
      recipe('ACT-AR-07', 23.7, 412),
      recipe('CLN-OA-10', 27.7, 268),
      recipe('DSM-PI-25', 45.5, 301),
      recipe('DSM-EP-25', 46.2, 188),
      recipe('ETB-RF-43', 64.2, 96),
    ],
    alarms: {
      activations: 214 * chambers,
      per10Min: 0.21,
      peak10Min: 41,
      peakAt: WEEK_FROM + 38 * HOUR,
      floods: [{ from: WEEK_FROM + 38 * HOUR, to: WEEK_FROM + 38.5 * HOUR, peak: 41 }],
      worst: [
        ['PC-03', 'WATER_FLOW_LOW', 'Cooling water flow low', 0.34, 811, true],
        ['PC-07', 'RF_REFL_HIGH', 'Reflected power high', 0.12, 296, true],
        ['PC-11', 'DOOR_NOT_CLOSED', 'Door not closed', 0.06, 143, false],
        ['PC-05', 'PUMPDOWN_SLOW', 'Pump-down slower than normal', 0.03, 66, false],
        ['PC-09', 'FLOW_DEVIATION', 'Gas flow off set point', 0.02, 51, false],
      ].map(([c, code, text, part, n, chattering]) => ({
        chamber: c as string,
        code: code as string,
        text: text as string,
        priority: 'medium' as const,
        activations: n as number,
        share: part as number,
        standingMs: (n as number) * 9000,
        chattering: chattering as boolean,
      })),
    },
  };
}

const isoWeek = (n: number): string => `2026-W${String(n).padStart(2, '0')}`;

export function weekOf(chamberCount: number, complete = false): WeekPage {
  const random = dice(48);
  const chambers = Array.from({ length: chamberCount }, (_, i) => numbers(`PC-${String(i + 1).padStart(2, '0')}`, i, 1, random));
  const fleet = numbers(null, -1, chamberCount, random);
  const previous = Array.from({ length: 6 }, (_, i) => {
    const drift = 0.47 + 0.03 * Math.sin(i * 1.7);
    return {
      week: isoWeek(42 + i),
      totalUtilization: share('total utilization', drift * 0.77, i === 2 ? 0.7 : 0.99),
      operationalUtilization: share('operational utilization', drift, i === 2 ? 0.7 : 0.99),
      loads: { ...fleet.loads, completed: 1180 + 40 * i },
      alarmActivations: 2300 + 90 * i,
      failures: 7 + i,
      assists: 20 + i,
      losses: [],
      time: fleet.time,
      byChamber: chambers.map((c, k) => ({
        chamber: c.chamber ?? '',
        operationalUtilization: share('operational utilization', 0.4 + 0.2 * dice(k * 9 + i)(), i === 2 && k % 2 === 0 ? 0.6 : 0.99),
        loads: 90 + k + i,
      })),
      recipes: fleet.recipes.map((r) => ({ recipe: r.recipe, runs: r.runs, processTime: r.processTime, cycleTime: r.cycleTime })),
    };
  });
  return {
    week: isoWeek(48),
    from: WEEK_FROM,
    to: WEEK_FROM + 168 * HOUR,
    hours: 168,
    zone: 'Europe/Berlin',
    complete,
    countedTo: complete ? WEEK_FROM + 168 * HOUR : WEEK_FROM + 62 * HOUR,
    headline: [
      '1 265 loads, 4 % above the median of the last six weeks (1 280).',
      'Largest loss: 310 h standing with nothing to do, a third of it on Friday night.',
      'PC-07 was down 18.5 h, most of it for its RF generator; PC-09 was not heard for 40 h and has no percentage.',
    ],
    fleet,
    chambers,
    previous,
    losses: [
      {
        cause: 'idle',
        state: 'standby',
        lostMs: 310 * HOUR,
        loads: 434,
        usual: null,
        occurrences: 412,
        chambers: [
          { chamber: 'PC-01', lostMs: 40 * HOUR },
          { chamber: 'PC-02', lostMs: 38 * HOUR },
        ],
        parts: [{ reason: 'idle', lostMs: 310 * HOUR }],
      },
      {
        cause: 'waiting for unload',
        state: 'standby',
        lostMs: 86 * HOUR,
        loads: 120,
        usual: null,
        occurrences: 1180,
        chambers: [{ chamber: 'PC-03', lostMs: 14 * HOUR }],
        parts: [{ reason: 'waiting for unload', lostMs: 86 * HOUR }],
      },
      {
        cause: 'RF generator fault',
        state: 'unscheduled-downtime',
        lostMs: 18.5 * HOUR,
        loads: 26,
        usual: null,
        occurrences: 3,
        chambers: [{ chamber: 'PC-07', lostMs: 18.5 * HOUR }],
        parts: [
          { reason: 'repair: RF generator fault', lostMs: 16 * HOUR },
          { reason: 'tripped: RF generator fault', lostMs: 2.5 * HOUR },
        ],
      },
      {
        cause: 'maintenance mode',
        state: 'scheduled-downtime',
        lostMs: 16 * HOUR,
        loads: 22,
        usual: null,
        occurrences: 5,
        chambers: [{ chamber: 'PC-05', lostMs: 8 * HOUR }],
        parts: [{ reason: 'maintenance mode', lostMs: 16 * HOUR }],
      },
      {
        cause: 'Cooling water flow low',
        state: 'unscheduled-downtime',
        lostMs: 8.25 * HOUR,
        loads: 12,
        usual: null,
        occurrences: 6,
        chambers: [{ chamber: 'PC-08', lostMs: 4 * HOUR }],
        parts: [{ reason: 'Cooling water flow low', lostMs: 8.25 * HOUR }],
      },
    ],
    alarmTargets: [],
    drift: [{ chamber: 'PC-07', text: 'start of pump-down slower, 103 to 121 s in 3 days', since: WEEK_FROM + 20 * HOUR }],
    unexplained: { stops: 4, lostMs: 6.2 * HOUR, share: 0.21, longest: [], byChamber: [] },
    changes: [],
    previousWeek: isoWeek(47),
    nextWeek: complete ? isoWeek(49) : null,
    generatedAt: WEEK_FROM + 62 * HOUR,
  };
}

export function weekLineOf(chamberCount: number): WeekLine {
  const { week, from, to, hours, complete } = weekOf(chamberCount);
  return { week, from, to, hours, complete };
}
