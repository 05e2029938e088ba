/**
 * An invented hall for trying the pages: seeded, any number of chambers, every state present once there are twelve. It makes wire messages
 * only; no number in it was measured or computed by the product.
 */
import type { SiteAnswer } from '../../src/site-answer.ts';
import type {
  ChamberDetail,
  ChamberTile,
  Fleet,
  FleetStrip,
  FoundRun,
  RunStretch,
  ServerLine,
  StateInterval,
  Trace,
} from '../../src/contract.ts';
import type { EquipmentState, Phase } from '../../src/equipment.ts';
import { nextToFinish, tileCounts } from '../../src/fleet-strip.ts';
import type { Share } from '../../src/numbers.ts';

const MIN = 60_000;

export type Dice = () => number;

/** mulberry32: the same seed gives the same hall. */
export function dice(seed: number): Dice {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export const share = (name: string, value: number | null, coverage = 0.98): Share => ({
  name,
  value: coverage < 0.8 ? null : value,
  low: value === null ? null : value * coverage,
  high: value === null ? null : value * coverage + (1 - coverage),
  base: 'operations time',
  baseMs: 100 * 3_600_000,
  coverage,
  rule: 'productive time divided by operations time, in the manner of SEMI E10',
});

type Story =
  | 'unloading'
  | 'run'
  | 'run2'
  | 'late'
  | 'unload'
  | 'down'
  | 'silent'
  | 'hold'
  | 'idle'
  | 'load'
  | 'service'
  | 'trial'
  | 'off'
  | 'loading'
  | 'noisy';
const STORIES: readonly Story[] = [
  'run',
  'run2',
  'unload',
  'run',
  'loading',
  'noisy',
  'down',
  'run2',
  'silent',
  'hold',
  'service',
  'unloading',
  'idle',
  'late',
  'load',
  'trial',
  'off',
];

const RECIPES = [
  { name: 'ACT-AR-07', steps: [7] },
  { name: 'CLN-OA-10', steps: [10] },
  { name: 'DSM-PI-25', steps: [5, 15, 5] },
  { name: 'ETB-RF-43', steps: [8, 27, 8] },
] as const;

function plan(recipe: (typeof RECIPES)[number], start: number, now: number): RunStretch[] {
  const lengths: [Phase, number | null, number][] = [
    ['pump-down', null, 2.4],
    ['gas-stabilisation', null, 0.5],
    ...recipe.steps.map((minutes, i): [Phase, number | null, number] => ['plasma', i + 1, minutes]),
    ['purge', null, 1],
    ['vent-delay', null, 0.15],
    ['vent', null, 1.4],
  ];
  let from = start;
  return lengths.flatMap(([phase, step, minutes]) => {
    const begin = from;
    from += Math.round(minutes * MIN);
    const whole = { phase, step, from: begin, to: from, expected: begin >= now };
    if (begin >= now || from <= now) return [whole];
    return [
      { ...whole, to: now },
      { ...whole, from: now, expected: true },
    ];
  });
}

export function tile(index: number, columns: number, now: number): ChamberTile {
  const random = dice(index + 7);
  const story = STORIES[index % STORIES.length]!;
  const recipe = RECIPES[Math.floor(random() * RECIPES.length)]!;
  const name = `PC-${String(index + 1).padStart(2, '0')}`;
  const lasts = (recipe.steps as readonly number[]).reduce((sum, m) => sum + m, 5.45);
  const startedAt = now - Math.round((story === 'late' ? 1.06 : 0.1 + 0.8 * random()) * lasts * MIN);
  const stretches = plan(recipe, startedAt, now);
  const running = stretches.find((s) => s.from <= now && now < s.to) ?? stretches.at(-1)!;
  const end = stretches.at(-1)!.to;
  const base: ChamberTile = {
    chamber: name,
    name,
    bay: ['Amber', 'Birch', 'Cedar'][index % 3]!,
    floor: { column: (index % columns) + 1, row: Math.floor(index / columns) + 1 },
    state: 'productive',
    reason: 'run',
    told: null,
    stateSince: startedAt,
    phase: running.phase,
    phaseSince: running.from,
    step: running.step,
    stepCount: recipe.steps.length,
    recipe: recipe.name,
    need: null,
    waitingSince: null,
    run: {
      run: `${name}/${new Date(startedAt).toISOString()}`,
      startedAt,
      recipe: recipe.name,
      load: `QM-26-04${100 + index}-A`,
      finish: { early: end - MIN, likely: end, late: end + 2 * MIN, basis: 'recipe steps and the median of the last 20 runs here' },
      stretches,
      holes: [],
    },
    alarms: { standing: 0, worst: null },
    heardAt: now - Math.floor(random() * 900),
    link: 'live',
    skewMs: Math.round(random() * 80 - 40),
  };
  return told(base, story, now, random);
}

const noRun = (t: ChamberTile, state: EquipmentState, reason: string, minutes: number, now: number): ChamberTile => ({
  ...t,
  state,
  reason,
  told: null,
  stateSince: now - minutes * MIN,
  phase: 'idle',
  phaseSince: now - minutes * MIN,
  step: null,
  stepCount: null,
  run: null,
});

function alarm(code: string, text: string, priority: 'high' | 'medium' | 'low', since: number): ChamberTile['alarms']['worst'] {
  return { code, text, priority, notice: false, since };
}

function told(t: ChamberTile, story: Story, now: number, random: Dice): ChamberTile {
  switch (story) {
    case 'run':
    case 'run2':
    case 'late':
      return t;
    case 'noisy':
      return { ...t, alarms: { standing: 2, worst: alarm('RF_REFL_HIGH', 'Reflected power high', 'medium', now - 3 * MIN) } };
    case 'unload': {
      const minutes = Math.round(4 + random() * 20);
      const shift = t.run!.stretches.at(-1)!.to - (now - minutes * MIN);
      const stretches = t.run!.stretches.map((s) => ({ ...s, from: s.from - shift, to: s.to - shift, expected: false }));
      const since = now - minutes * MIN;
      return {
        ...noRun(t, 'standby', 'waiting for unload', minutes, now),
        phase: 'wait-unload',
        need: 'unload',
        waitingSince: since,
        run: { ...t.run!, startedAt: stretches[0]!.from, stretches, finish: null },
      };
    }
    case 'down':
      return {
        ...noRun(t, 'unscheduled-downtime', 'tripped: RF generator fault', 47, now),
        need: 'call-maintenance',
        alarms: { standing: 3, worst: alarm('RF_FAULT', 'RF generator fault', 'high', now - 47 * MIN) },
      };
    case 'silent':
      return { ...t, state: 'unobserved', reason: 'no data', link: 'silent', heardAt: now - 22 * MIN, stateSince: now - 22 * MIN };
    case 'hold':
      return {
        ...t,
        phase: 'hold',
        need: 'attend',
        alarms: {
          standing: 1,
          worst: alarm('DOOR_SEAL_LEAK', 'Leak suspected, base pressure not reached in time', 'medium', now - 2 * MIN),
        },
      };
    case 'idle':
      return noRun(t, 'standby', 'idle', 33, now);
    case 'load':
      return { ...noRun(t, 'standby', 'idle', 9, now), need: 'load' };
    case 'loading':
      return { ...noRun(t, 'productive', 'load or unload', 4, now), phase: 'load' };
    case 'unloading': {
      const notice = { ...alarm('PM_DUE', 'Maintenance due', 'low', now - 900 * MIN)!, notice: true };
      return { ...noRun(t, 'productive', 'load or unload', 3, now), phase: 'unload', alarms: { standing: 0, worst: notice } };
    }
    case 'service':
      return noRun(t, 'scheduled-downtime', 'maintenance mode', 95, now);
    case 'trial':
      return { ...t, state: 'engineering', reason: 'conditioning', recipe: 'CND-15', run: { ...t.run!, recipe: 'CND-15', load: null } };
    case 'off':
      return noRun(t, 'nonscheduled', 'outside shifts', 400, now);
  }
}

export function strip(tiles: readonly ChamberTile[], now: number): FleetStrip {
  return {
    counts: tileCounts(tiles),
    nextToFinish: nextToFinish(tiles),
    shift: {
      name: 'Early',
      from: now - 4 * 60 * MIN,
      to: now + 4 * 60 * MIN,
      loads: 34,
      utilization: share('operational utilization', 0.537),
      usual: { shifts: 10, loads: 31, utilization: 0.52 },
    },
    alarms: { last10Min: 4, lastHour: 17, flooded: false },
    openAlerts: 1,
  };
}

export function fleetOf(n: number, now: number, boot: string): Fleet {
  const columns = { 4: 2, 12: 4, 24: 6, 40: 8 }[n] ?? Math.ceil(Math.sqrt(n * 1.6));
  const chambers = Array.from({ length: n }, (_, i) => tile(i, columns, now));
  return {
    boot,
    rev: 1,
    seq: 1000,
    now,
    speed: 1,
    site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
    chambers,
    strip: strip(chambers, now),
  };
}

export function runsOf(t: ChamberTile, now: number): FoundRun[] {
  const random = dice(t.chamber.length * 31 + 5);
  let end = now - 30 * MIN;
  return Array.from({ length: 8 }, (_, i) => {
    const recipe = RECIPES[2 + (i % 2)]!;
    const lasts = (recipe.steps as readonly number[]).reduce((sum, m) => sum + m, 5.45) * MIN;
    const startedAt = Math.round(end - lasts);
    const stretches = plan(recipe, startedAt, now).map((s) => ({ ...s, to: s.to }));
    const row: FoundRun = {
      run: `${t.chamber}/${new Date(startedAt).toISOString()}`,
      chamber: t.chamber,
      startedAt,
      endedAt: Math.round(end),
      outcome: i === 3 ? 'aborted' : i === 6 ? 'not-fully-observed' : 'completed',
      recipe: recipe.name,
      load: `QM-26-041${20 - i}-B`,
      engineering: false,
      doorClosedAt: startedAt - 20_000,
      phases: stretches.map(({ phase, step, from, to }) => ({ phase, step, from, to, source: 'tag' as const })),
      observedMs: Math.round(end - startedAt),
      deviations: i === 3 ? ['step-short', 'energy-low'] : [],
    };
    end = startedAt - (6 + random() * 12) * MIN;
    return row;
  });
}

function today(t: ChamberTile, now: number): StateInterval[] {
  const random = dice(99);
  const midnight = now - (now % (24 * 60 * MIN)) - 60 * MIN;
  const states: EquipmentState[] = [
    'nonscheduled',
    'productive',
    'standby',
    'productive',
    'unscheduled-downtime',
    'productive',
    'unobserved',
    'productive',
    'standby',
    'scheduled-downtime',
    'engineering',
  ];
  const list: StateInterval[] = [];
  let from = midnight;
  for (let i = 0; from < now; i++) {
    const to = Math.min(now, Math.round(from + (20 + random() * 70) * MIN));
    const told = { entry: null, downtime: null, observed: null };
    list.push({ chamber: t.chamber, from, to, state: states[i % states.length]!, reason: 'run', source: 'tag', run: null, ...told });
    from = to;
  }
  return list;
}

export function detailOf(t: ChamberTile, now: number): ChamberDetail {
  return {
    tile: t,
    standing: [
      { code: 'RF_REFL_HIGH', text: 'Reflected power high', priority: 'medium', notice: false, since: now - 3 * MIN },
      { code: 'GAS_SUPPLY_PRESSURE_LOW', text: 'Gas supply low', priority: 'low', notice: false, since: now - 40 * MIN },
    ],
    alarms: {
      awaiting: [
        {
          ...{ code: 'RF_REFL_HIGH', text: 'Reflected power high', priority: 'medium', notice: false, since: now - 3 * MIN },
          earlier: 1,
          canAcknowledge: true,
        },
        {
          ...{ code: 'DOOR_NOT_CLOSED', text: 'Door not closed', priority: 'low', notice: false, since: null },
          earlier: 0,
          canAcknowledge: true,
        },
      ],
      earlier: [
        {
          ...{ code: 'RF_REFL_HIGH', text: 'Reflected power high', priority: 'medium', notice: false, since: now - 3 * MIN },
          ...{ of: now - 20 * MIN, canAcknowledge: true },
        },
      ],
      latched: [{ code: 'RF_FAULT', text: 'RF generator fault', priority: 'high', notice: false, since: null }],
      suppressed: [
        {
          ...{ code: 'WATER_FLOW_LOW', text: 'Cooling water flow low', priority: 'medium', notice: false, since: now - 90 * MIN },
          as: ['shelved'],
          until: now + 40 * MIN,
        },
      ],
    },
    today: today(t, now),
    runs: runsOf(t, now),
    gases: [
      { line: 1, kind: 'O2', fullScaleMolPerS: 7.44e-4 },
      { line: 2, kind: 'CF4', fullScaleMolPerS: 3.72e-4 },
      { line: 3, kind: 'N2', fullScaleMolPerS: 7.44e-4 },
    ],
    rfMaxW: 5000,
    signals: [
      'chamber.pressure',
      'rf.forward',
      'rf.reflected',
      'rf.forwardSetPoint',
      ...[1, 2, 3].flatMap((i) => [`gas.${i}.flow`, `gas.${i}.flowSetPoint`]),
    ],
    units: { pressure: 'mTorr', flow: 'sccm' },
  };
}

const SCCM = 7.4358e-7;

/** One value of one signal at a time of a made-up 20-minute rhythm. */
export function sample(signal: string, at: number): number {
  const t = (at / MIN) % 20;
  const noise = Math.sin(at / 700) * 0.5 + Math.sin(at / 1900) * 0.5;
  const plasma = t > 4 && t < 17;
  if (signal === 'chamber.pressure')
    return t < 3 ? 101_325 * Math.exp(-t * 2.7) + 13 : t < 18 ? 38 + noise : Math.min(101_325, 38 * Math.exp((t - 18) * 5));
  if (signal.startsWith('rf.'))
    return !plasma ? 0 : signal === 'rf.reflected' ? 55 + 25 * noise : signal === 'rf.forwardSetPoint' ? 3000 : 2990 + 8 * noise;
  const set = t > 3 && t < 17 ? [700, 180, 0][Number(signal[4]) - 1]! * SCCM : 0;
  return signal.endsWith('SetPoint') ? set : Math.max(0, set * (1 + 0.008 * noise));
}

/** The last half hour, one value a second, with two minutes nobody heard. */
export function traceOf(chamber: string, from: number, to: number): Trace {
  const gap = [from + 9 * MIN, from + 11 * MIN] as const;
  const times = Array.from({ length: Math.floor((to - from) / 1000) }, (_, i) => from + i * 1000).filter(
    (at) => at < gap[0] || at > gap[1],
  );
  const cut = times.findIndex((at) => at > gap[1]);
  const at = cut < 0 ? times : [...times.slice(0, cut), gap[0], ...times.slice(cut)];
  const names = detailOf(tile(0, 4, to), to).signals;
  return {
    chamber,
    from,
    to,
    signals: names.map((signal) => ({ signal, at, value: at.map((x) => (x === gap[0] ? null : sample(signal, x))) })),
  };
}

export function serversOf(now: number): ServerLine[] {
  const counters = { values: 812_345, sequenceGaps: 0, overflows: 0, rebuilds: 1, handlerErrors: 0 };
  const live: ServerLine = { server: 'north', state: 'live', message: '', skewMs: 40, lastHeardAt: now - 300, badTags: [], counters };
  const badTags = [{ chamber: 'PC-09', signal: 'rf.matchC1', reason: 'the server knows no such node' }];
  return [
    live,
    {
      ...live,
      server: 'south',
      state: 'silent',
      message: 'Nothing heard for 22 min. Check the network to this server.',
      skewMs: -87_000,
      lastHeardAt: now - 22 * MIN,
      badTags,
    },
  ];
}

/** A site file that was changed an hour ago, and since then once more with a fault in it. */
export const siteAnswerOf = (now: number): SiteAnswer => ({
  file: 'quellmoor.yaml',
  chambers: 12,
  servers: 4,
  faults: {
    at: now - 60_000,
    lines: ['quellmoor.yaml:57  chambers.3.server: "ambre" is no server of this file; amber, birch, cobalt, dune are'],
  },
  takings: [{ at: now - 3_600_000, by: 'the file', changes: [{ kind: 'changed', what: 'PC-05', text: 'bay: "Birch" is now "Amber"' }] }],
  former: [{ chamber: 'PC-13', until: now - 86_400_000 }],
});
