/** Small valid examples of what crosses the wire, for tests that need some. */
import type { AlertAct } from '../../src/alert-act.ts';
import type { AlertEvidence, InboxAlert } from '../../src/alert-inbox.ts';
import type { Mute } from '../../src/alert-mute.ts';
import type { JournalRow } from '../../src/alarm-answer.ts';
import type { Counters } from '../../src/counter-answer.ts';
import type { ChamberDriftAnswer, DriftCell, DriftFleet } from '../../src/drift-answer.ts';
import type {
  Alert,
  AlertAlarms,
  ChamberDetail,
  ChamberTile,
  Delivery,
  Fleet,
  FleetStrip,
  FoundRun,
  ReasonRow,
  RouteLine,
  ServerLine,
  StateInterval,
  StopsPage,
  WeekLetter,
} from '../../src/contract.ts';
import type { RecordedRow } from '../../gateway/http/answers-port.ts';
import type { RunRecordAnswer } from '../../src/run-answer.ts';
import { tileCounts } from '../../src/fleet-strip.ts';
import { runBands } from '../../src/run-band.ts';
import { runRecord } from '../../src/run-record.ts';
import { runExample } from '../src/run-example.ts';
import type { Explanation } from '../../src/explanation.ts';
import type { Loss, Share, WeekPage, WindowNumbers } from '../../src/numbers.ts';
import { restOfNumbers } from '../src/kpi-example.ts';

export const T0 = Date.UTC(2026, 10, 25, 6, 0, 0);
const MINUTE = 60_000;

export const exampleTile = (change: Partial<ChamberTile> = {}): ChamberTile => ({
  chamber: 'PC-01',
  name: 'PC-01',
  bay: 'Amber',
  floor: { column: 1, row: 1 },
  state: 'productive',
  reason: 'run',
  told: null,
  stateSince: T0,
  phase: 'plasma',
  phaseSince: T0 + MINUTE,
  step: 1,
  stepCount: 2,
  recipe: 'ACT-AR-07',
  need: null,
  waitingSince: null,
  run: null,
  alarms: { standing: 0, worst: null },
  heardAt: T0 + 2 * MINUTE,
  link: 'live',
  skewMs: 12,
  ...change,
});

export const exampleShare = (value: number | null = 0.75): Share => ({
  name: 'operational utilization',
  value,
  low: 0.7,
  high: 0.8,
  base: 'operations time',
  baseMs: 3_600_000,
  coverage: 0.95,
  rule: 'in the manner of SEMI E10',
});

export const exampleStrip = (change: Partial<FleetStrip> = {}): FleetStrip => ({
  counts: { ...tileCounts([]), running: 1 },
  nextToFinish: [],
  shift: null,
  alarms: { last10Min: 0, lastHour: 0, flooded: false },
  openAlerts: 0,
  ...change,
});

export const exampleFleet = (change: Partial<Fleet> = {}): Fleet => ({
  boot: 'boot-1',
  rev: 3,
  seq: 17,
  now: T0 + 2 * MINUTE,
  speed: 1,
  site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
  chambers: [exampleTile()],
  strip: exampleStrip(),
  ...change,
});

export const exampleRun = (change: Partial<FoundRun> = {}): FoundRun => ({
  run: 'PC-01/2026-11-25T06:00:00.000Z',
  chamber: 'PC-01',
  startedAt: T0,
  endedAt: T0 + 20 * MINUTE,
  outcome: 'completed',
  recipe: 'ACT-AR-07',
  load: 'QM-26-04117-A',
  engineering: false,
  doorClosedAt: T0 - MINUTE,
  phases: [{ phase: 'pump-down', step: null, from: T0, to: T0 + 2 * MINUTE, source: 'tag' }],
  observedMs: 20 * MINUTE,
  deviations: ['energy-low'],
  ...change,
});

export const exampleRecorded = (change: Partial<FoundRun> = {}): RecordedRow => ({
  run: exampleRun(change),
  record: runRecord(runExample()),
});

export const exampleRunRecord = (): RunRecordAnswer => {
  const { run } = runExample();
  const record = runRecord(runExample());
  const bands = [...runBands({ run, record }, [], [])];
  const answer = { run: exampleRun(), fact: run, record, verdict: 'within-limits', digest: 'ab', intact: true, bands } as const;
  return { ...answer, gases: [], units: { pressure: 'mTorr', flow: 'sccm' } };
};

export const exampleInterval = (change: Partial<StateInterval> = {}): StateInterval => ({
  chamber: 'PC-01',
  from: T0,
  to: T0 + MINUTE,
  state: 'standby',
  reason: 'idle',
  source: 'tag',
  run: null,
  entry: null,
  downtime: null,
  observed: null,
  ...change,
});

export const exampleAlarm = (change: Partial<JournalRow> = {}): JournalRow => ({
  chamber: 'PC-01',
  at: T0,
  code: 'RF_FAULT',
  text: 'RF generator fault',
  priority: 'high',
  notice: false,
  counted: true,
  suppressed: false,
  clearedAt: T0 + MINUTE,
  seq: 7,
  state: 'A',
  standingMs: MINUTE,
  suppressedAs: [],
  acknowledgement: 'not told',
  acknowledgedAt: null,
  acknowledgeMs: null,
  confirmation: 'not told',
  confirmedAt: null,
  resetAt: null,
  branch: false,
  firstOut: null,
  ...change,
});

export const exampleAlert = (change: Partial<Alert> = {}): Alert => ({
  id: 'burst/PC-06/1764050400000',
  kind: 'burst',
  chamber: 'PC-06',
  position: null,
  severity: 'medium',
  state: 'open',
  startedAt: T0,
  updatedAt: T0 + 5 * MINUTE,
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  takenAt: null,
  takenBy: null,
  headline: 'PC-06: 14 alarms since 07:00, usually 0.3 in 10 minutes',
  rule: 'scan statistic over 10 minutes',
  cure: null,
  together: ['PC-05'],
  shares: null,
  partOf: null,
  alarms: exampleAlertAlarms(),
  facts: [],
  ...change,
});

export const exampleAct = (change: Partial<AlertAct> = {}): AlertAct => ({
  ...{ id: 1, alert: 'burst/PC-06/1764050400000', at: T0 + MINUTE, who: 'A. Brandt', deed: 'commented', text: 'match box was warm' },
  ...change,
});

export const exampleMute = (change: Partial<Mute> = {}): Mute => ({
  ...{ id: 3, kind: 'burst', chamber: 'PC-06', shared: null, from: T0, until: T0 + 60 * MINUTE, who: 'A. Brandt', why: 'part is on order' },
  ...{ alert: null, endedAt: null, endedBy: null },
  ...change,
});

export const exampleInboxAlert = (change: Partial<InboxAlert> = {}): InboxAlert => ({
  ...exampleAlert(),
  deliveries: [exampleDelivery()],
  acts: [exampleAct()],
  mute: exampleMute(),
  ...change,
});

export const exampleEvidence = (): AlertEvidence => ({
  ...{ from: T0 - 10 * MINUTE, to: T0 + 20 * MINUTE, chamber: 'PC-06', moreAlarms: 0 },
  alarms: [
    {
      ...{ chamber: 'PC-06', code: 'REFLECTED_HIGH', text: 'Reflected power high', priority: 'medium', notice: false },
      ...{ at: T0, clearedAt: T0 + MINUTE, isFirst: true },
    },
  ],
  similar: [
    {
      ...{ id: 'burst/PC-06/1', kind: 'burst', chamber: 'PC-06', headline: 'PC-06: 11 alarms', startedAt: T0 - 90 * MINUTE },
      ...{ closedAt: T0 - 80 * MINUTE, likeness: 'same first alarm here', comments: [exampleAct({ alert: 'burst/PC-06/1' })] },
      ...{ told: [{ at: T0 - 89 * MINUTE, state: 'unscheduled-downtime', reason: 'RF match', note: '', by: 'A. Brandt' }] },
      ...{ followed: { state: 'unscheduled-downtime', reason: 'RF match', from: T0 - 89 * MINUTE, to: T0 - 60 * MINUTE }, lostRuns: 1 },
    },
  ],
  before: [{ at: T0 - 300 * MINUTE, what: 'recipe', text: 'CLN-OA-10, not run here in the week before' }],
});

export const exampleAlertAlarms = (change: Partial<AlertAlarms> = {}): AlertAlarms => ({
  count: 14,
  rawCount: 19,
  peak10Min: 12,
  usual: { per10Min: 0.3, threshold: 6, observedHours: 410, expectedFalsePerMonth: 0.1 },
  firstOut: { chamber: 'PC-06', code: 'REFLECTED_HIGH', text: 'Reflected power high', at: T0 },
  top: [{ chamber: 'PC-06', code: 'REFLECTED_HIGH', text: 'Reflected power high', count: 9 }],
  ...change,
});

export const exampleRoute = (change: Partial<RouteLine> = {}): RouteLine => ({
  ...{ route: 'hook', type: 'webhook', place: 'https://plant.invalid', state: 'well', lastDeliveredAt: T0, failingSince: null },
  ...{ lastError: null, waiting: 0, dead: 0 },
  ...change,
});

export const exampleDelivery = (change: Partial<Delivery> = {}): Delivery => ({
  id: 'burst/PC-06/1764050400000/opened/hook',
  alert: 'burst/PC-06/1764050400000',
  route: 'hook',
  stage: 'opened',
  state: 'waiting',
  attempts: 0,
  nextAt: T0,
  deliveredAt: null,
  lastError: null,
  ...change,
});

export const exampleServer = (change: Partial<ServerLine> = {}): ServerLine => ({
  server: 'amber',
  state: 'live',
  message: '',
  skewMs: 3,
  lastHeardAt: T0,
  badTags: [],
  counters: { values: 10, sequenceGaps: 0, overflows: 0, rebuilds: 0, handlerErrors: 0 },
  ...change,
});

export const exampleDetail = (): ChamberDetail => ({
  tile: exampleTile(),
  standing: [],
  alarms: { awaiting: [], earlier: [], latched: [], suppressed: [] },
  today: [exampleInterval()],
  runs: [exampleRun()],
  gases: [{ line: 1, kind: 'O2', fullScaleMolPerS: 3.7e-4 }],
  rfMaxW: 3000,
  signals: ['chamber.pressure'],
  units: { pressure: 'Pa', flow: 'sccm' },
});

const EXAMPLE_TIME = {
  productive: 45 * MINUTE,
  standby: 12 * MINUTE,
  engineering: 0,
  'scheduled-downtime': 0,
  'unscheduled-downtime': 0,
  nonscheduled: 0,
  unobserved: 3 * MINUTE,
};

export const exampleNumbers = (change: Partial<WindowNumbers> = {}): WindowNumbers => ({
  chamber: null,
  chambers: 1,
  from: T0,
  to: T0 + 60 * MINUTE,
  time: EXAMPLE_TIME,
  totalUtilization: exampleShare(),
  operationalUtilization: exampleShare(),
  totalUptime: exampleShare(1),
  operationalUptime: exampleShare(null),
  loads: { completed: 2, aborted: 0, interrupted: 0, notFullyObserved: 0, engineering: 0 },
  recipes: [],
  alarms: { activations: 1, per10Min: 0.1, peak10Min: 1, peakAt: T0, floods: [], worst: [] },
  ...restOfNumbers(EXAMPLE_TIME),
  ...change,
});

export const exampleLoss = (change: Partial<Loss> = {}): Loss => ({
  cause: 'waiting for unload',
  state: 'standby',
  lostMs: 12 * MINUTE,
  loads: 0.5,
  occurrences: 3,
  chambers: [{ chamber: 'PC-01', lostMs: 12 * MINUTE }],
  parts: [{ reason: 'waiting for unload', lostMs: 12 * MINUTE }],
  ...change,
});

export const exampleLetter = (week: string, change: Partial<WeekLetter> = {}): WeekLetter => ({
  id: `week|${week}|managers`,
  week,
  route: 'managers',
  dueAt: T0,
  until: T0 + 6 * 86_400_000,
  state: 'waiting',
  attempts: 0,
  nextAt: T0,
  deliveredAt: null,
  lastError: null,
  figures: null,
  ...change,
});

export const exampleWeek = (week: string): WeekPage => ({
  week,
  from: T0,
  to: T0 + 168 * 3_600_000,
  hours: 168,
  zone: 'Europe/Berlin',
  complete: false,
  countedTo: T0 + 3_600_000,
  headline: [],
  fleet: exampleNumbers(),
  chambers: [exampleNumbers({ chamber: 'PC-01' })],
  previous: [],
  losses: [],
  alarmTargets: [],
  drift: [],
  unexplained: { stops: 0, lostMs: 0, share: null, longest: [], byChamber: [] },
  changes: [],
  previousWeek: '2026-W47',
  nextWeek: null,
  generatedAt: T0,
});

export const exampleReason = (change: Partial<ReasonRow> = {}): ReasonRow => ({
  entry: 'a1',
  chamber: 'PC-01',
  from: T0,
  to: T0 + MINUTE,
  until: T0 + MINUTE,
  state: 'unscheduled-downtime',
  reason: 'repair',
  note: '',
  by: 'A. Person',
  enteredAt: T0 + 2 * MINUTE,
  downtime: 'repair',
  workedOn: ['pump'],
  withdrawnAt: null,
  withdrawnBy: null,
  ...change,
});

export const exampleStops = (): StopsPage => ({
  from: T0,
  to: T0 + 60 * MINUTE,
  unexplainedMs: 5 * MINUTE,
  unscheduledMs: 10 * MINUTE,
  share: 0.5,
  stops: [{ chamber: 'PC-01', from: T0, to: T0 + 5 * MINUTE, isOn: false, downMs: 5 * MINUTE, reasons: ['tripped: RF_FAULT'] }],
});

export const exampleExplanation = (number: string): Explanation => ({
  number,
  words: 'time in standby',
  chamber: null,
  run: null,
  from: T0,
  to: T0 + 60 * MINUTE,
  unit: 'ms',
  value: 12 * MINUTE,
  low: null,
  high: null,
  bounds: null,
  coverage: null,
  formula: 'sum of the stretches in this state, cut to the window',
  worked: '12.00 min idle',
  base: null,
  source: 'equipment states in the manner of SEMI E10 (from memory)',
  scale: 1,
  numerator: {
    words: 'time in standby',
    unit: 'ms',
    amount: 12 * MINUTE,
    parts: [{ label: 'idle', state: 'standby', amount: 12 * MINUTE, count: 1 }],
  },
  denominator: null,
  percentile: null,
  excluded: [],
  madeOf: [
    { chamber: 'PC-01', from: T0, to: T0 + 12 * MINUTE, state: 'standby', text: 'idle', counts: 'counts', run: null, amount: 12 * MINUTE },
  ],
  madeOfTotal: 1,
  madeOfUnit: 'ms',
  also: [],
  units: { pressure: 'mTorr', flow: 'sccm' },
});

export const exampleDriftCell = (): DriftCell => ({
  name: 'pump-down-first',
  recipe: null,
  line: null,
  gas: null,
  state: 'shifted',
  learned: null,
  value: 115,
  usual: 103,
  sigma: 0.4,
  size: '+12.0 s (12 %)',
  sentence: 'First part of the pump-down 12.0 s longer (12 %): 115 s, usually 103 s, for 22 runs.',
  since: T0,
  runsSince: 22,
});

const exampleCause = () => ({
  cause: 'pump speed: worn rotary pump, slipping belt or blocked inlet screen',
  evidence: [exampleDriftCell().sentence as string],
  against: [],
  open: ['pressure in plasma (leans up, not sure yet)'],
  firstCheck: 'Check the belt, the inlet screen and the oil level of the rotary pump.',
});
const exampleMeasure = () => ({
  name: 'pump-down-first',
  label: 'first part of the pump-down',
  symbol: 's',
  gain: 1,
  scope: 'chamber' as const,
});

export const exampleDrift = (): DriftFleet => ({
  at: T0,
  measures: [exampleMeasure()],
  chambers: [
    { chamber: 'PC-01', recipes: ['ACT-AR-07'], cells: [exampleDriftCell()], pointsTo: { recipe: 'ACT-AR-07', causes: [exampleCause()] } },
  ],
  notCheckable: 'Flow calibration is not checkable from the controller’s own reading.',
});

export const exampleChamberDrift = (): ChamberDriftAnswer => ({
  at: T0,
  chamber: 'PC-01',
  recipe: 'ACT-AR-07',
  recipes: ['ACT-AR-07'],
  cells: [exampleDriftCell()],
  measures: [exampleMeasure()],
  chart: {
    measure: exampleMeasure(),
    cell: exampleDriftCell(),
    limits: { usual: 103, sigma: 0.4, runs: 20, lower: 101.6, upper: 104.4, levelLower: 102.5, levelUpper: 103.5 },
    points: [{ run: 'PC-01/x', at: T0, value: 115, role: 'judged', level: 109, reasons: ['beyond 3 sigma'] }],
    longestGapMs: 345_600_000,
  },
  causes: [exampleCause()],
  causesAsAt: null,
  marks: [{ from: T0 - 2, to: T0 - 1, text: 'Pump repair: pump', parts: ['pump'], resets: true }],
  sisters: [{ chamber: 'PC-02', points: [{ at: T0, value: 103 }] }],
  notes: ['Flow calibration is not checkable.'],
});

export const exampleCounters = (): Counters => ({
  at: T0,
  totals: [
    {
      chamber: 'PC-01',
      counted: 'pump-hours',
      own: 5 * 3_600_000,
      since: T0 - 1,
      unobservedMs: 60_000,
      meter: { gained: 4 * 3_600_000, own: 4 * 3_600_000, isWhole: true, events: [{ at: T0, kind: 'reset', from: 7200, to: 0 }] },
      meterNow: 7200,
    },
  ],
  maintenance: [
    {
      chamber: 'PC-01',
      name: 'Pump oil',
      part: 'pump',
      counted: 'pump-hours',
      every: 36_000_000,
      used: 18_000_000,
      since: T0 - 1,
      isSinceWork: false,
      unobservedMs: 60_000,
      left: 18_000_000,
      state: 'due',
      early: T0,
      likely: T0 + 1,
      late: null,
      overdueSince: null,
      due: 'about 12 Dec (10 Dec or later)',
    },
  ],
});
