/**
 * The site file: what a plant tells Glowfleet about itself. Strict: an unknown key is a fault, and so is anything out of range.
 * Read by gateway/config.ts, which adds line numbers; never seen by the dashboard.
 */
import * as z from 'zod';
import { alertRules, tell } from './config-alerts.ts';
import { heartbeat, route } from './config-routes.ts';
import { STEP_COUNTS } from './chamber-rules.ts';
import { COUNTED } from './counters.ts';
import { ALARM_PRIORITIES, DOWNTIME_KINDS, PHASES, TOLD_STATES, UTILITY_KINDS, WORKED_ON } from './equipment.ts';
import { SIGNAL_NAMES } from './signal.ts';

const localTime = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'a local time such as 06:00');
const localDate = z
  .string()
  .regex(/^\d{4}-\d{2}-\d{2}$/, 'a date such as 2026-12-24')
  .refine(isDate, 'a day that exists, such as 2026-12-24');
const name = z.string().trim().min(1).max(80);

const WEEKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;
const PRESSURE_UNITS = ['Pa', 'mbar', 'mTorr', 'Torr', 'kPa'] as const;
const FLOW_UNITS = ['sccm', 'slm', 'mol/s'] as const;
/** Units a tag may carry; each is turned into the signal's SI unit. `percent-of-full-scale` needs a gas line with its full scale. */
const TAG_UNITS = [
  ...PRESSURE_UNITS,
  'bar',
  ...FLOW_UNITS,
  'percent-of-full-scale',
  'W',
  'kW',
  'degC',
  'K',
  's',
  'min',
  'h',
  'L/min',
  'percent',
  '1',
] as const;
export type TagUnit = (typeof TAG_UNITS)[number];

/** `nsu=<namespace uri>;s=<identifier>` (or i=, g=, b=): by namespace URI, because indexes shift when a server restarts. `{path}` is the chamber's path. */
const node = z.string().regex(/^nsu=[^;]+;[sigb]=.+$/, 'a node as nsu=<namespace uri>;s=<identifier>');

const tagBinding = z.strictObject({
  node,
  unit: z.enum(TAG_UNITS).optional(),
  /** SI = (raw × scale + offset) in `unit`. */
  scale: z.number().optional(),
  offset: z.number().optional(),
  /** Turns a boolean around. */
  inverted: z.boolean().optional(),
  /** Raw value (as text) to our word, for modes. */
  words: z.record(z.string(), z.string()).optional(),
  bit: z.int().min(0).max(63).optional().describe('The bit of an integer word that carries this yes or no; 0 is the lowest.'),
  counts: z
    .enum(STEP_COUNTS)
    .optional()
    .describe(
      'What the number of recipe.step counts. plasma-steps: the steps of the plasma alone, the first is 1. all-steps: every step of the sequence (pump-down is 1, gas is 2), or of all runs without beginning anew. Without it no run is told aborted by its step number.',
    ),
  /** Signals that matter at once are sampled fast. */
  sampling: z.enum(['fast', 'normal', 'slow']).optional(),
});
export type TagBinding = z.infer<typeof tagBinding>;

const alarmBinding = z.strictObject({
  text: name,
  priority: z.enum(ALARM_PRIORITIES),
  effect: z.enum(['none', 'stop', 'down']).default('none'),
  notice: z.boolean().default(false),
  /** How the machine exposes it: a boolean node, a bit of a word, or an OPC UA condition by its ConditionName. */
  from: z.union([z.strictObject({ node }), z.strictObject({ node, bit: z.int().min(0).max(63) }), z.strictObject({ condition: name })]),
});
export type AlarmBinding = z.infer<typeof alarmBinding>;

const tags = z.partialRecord(z.enum(SIGNAL_NAMES as [string, ...string[]]), tagBinding);

const gasLine = z.strictObject({
  kind: name,
  fullScaleSccm: z.number().positive(),
  /** Reference temperature of the flow unit: a 20 °C sccm is 0.932 of a 0 °C sccm. */
  referenceC: z.union([z.literal(0), z.literal(20)]).default(0),
  /** From the instrument's label; never built in, because makers differ. 1 when the reading is already of this gas. */
  correctionFactor: z.number().positive().default(1),
  fluorinated: z.boolean().default(false),
});

export const template = z.strictObject({
  rfMaxW: z.number().positive(),
  basePressurePa: z.number().positive(),
  gases: z.strictObject({ '1': gasLine.optional(), '2': gasLine.optional(), '3': gasLine.optional(), '4': gasLine.optional() }),
  /** The controller's phase number to our phase; leave out when it has none. */
  phases: z.record(z.string(), z.enum(PHASES)).optional(),
  tags,
  alarms: z.record(z.string().regex(/^[A-Z][A-Z0-9_]{1,39}$/, 'an alarm code such as RF_FAULT'), alarmBinding).default({}),
  /** The node that emits this chamber's alarm conditions, where `from: condition` is used. */
  conditions: z.strictObject({ notifier: node }).optional(),
  /** Booleans and bits tell only active and cleared. `out-of-service`: while the chamber is in maintenance mode they are not annunciated. */
  alarmsInMaintenance: z.enum(['as-told', 'out-of-service']).optional(),
  shortestPurgeS: z.number().nonnegative().optional(),
});

export const chamber = z.strictObject({
  id: z.string().regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,31}$/, 'letters, digits, dot, dash or underscore, at most 32'),
  name: name.optional(),
  bay: name,
  floor: z.strictObject({ column: z.int().min(1).max(40), row: z.int().min(1).max(40) }),
  server: name,
  template: name,
  /** Replaces {path} in the template's nodes. */
  path: name,
  /** Differences from the template; null takes a tag away. */
  tags: z.partialRecord(z.enum(SIGNAL_NAMES as [string, ...string[]]), tagBinding.nullable()).optional(),
});

/** A secret stands in a file or in the environment, never in the site file. File names are taken from the site file's folder. */
const secretPlace = z.string().min(1).max(500);
export const user = z.union(
  [
    z.strictObject({ name, passwordFile: secretPlace }),
    z.strictObject({ name, passwordEnv: z.string().regex(/^[A-Za-z_][A-Za-z0-9_]*$/, 'the name of an environment variable') }),
    z.strictObject({ certificateFile: secretPlace, privateKeyFile: secretPlace }),
  ],
  'name with passwordFile, name with passwordEnv, or certificateFile with privateKeyFile; a password itself never stands in this file',
);

export const server = z.strictObject({
  name,
  endpoint: z.string().regex(/^opc\.tcp:\/\/[^\s]+$/, 'an address such as opc.tcp://10.0.0.5:4840'),
  security: z.enum(['none', 'sign', 'sign-and-encrypt']).default('sign-and-encrypt'),
  policy: z.enum(['Basic256Sha256', 'Aes128_Sha256_RsaOaep', 'Aes256_Sha256_RsaPss']).default('Basic256Sha256'),
  /** As whom we read; anonymous without it. */
  user: user.optional(),
  /** Persons may acknowledge this server's alarm conditions from the dashboard; off without it. Nothing else is ever written to a chamber. */
  acknowledge: z.boolean().optional(),
  /** Server clock further off than this is not believed for event times. */
  skewToleranceS: z.number().positive().default(5),
});

export const shift = z.strictObject({ name, days: z.array(z.enum(WEEKDAYS)).min(1), from: localTime, to: localTime });

/** A reason that a person can choose for a span of time. */
export const reason = z.strictObject({
  state: z.enum(TOLD_STATES),
  reason: name,
  /** Needed where uptimes and repair times tell downtimes apart. */
  downtime: z.enum(DOWNTIME_KINDS).nullable().default(null),
  workedOn: z.array(z.enum(WORKED_ON)).default([]),
});

/** What wears and is to be looked after, after so many hours or runs. */
export const maintenance = z.strictObject({
  name,
  part: z.enum(WORKED_ON),
  counts: z.enum(COUNTED),
  /** Hours, or runs. */
  every: z.number().positive().max(1_000_000),
  /** Without it every chamber. */
  chambers: z.array(z.string()).min(1).optional(),
});

/** A supply that several chambers hang on. */
export const utility = z.strictObject({ name, kind: z.enum(UTILITY_KINDS), chambers: z.array(z.string()).min(1) });

export const siteFile = z.strictObject({
  site: z.strictObject({
    name,
    hall: name,
    /** IANA zone: weeks, days and shifts are this zone's. */
    zone: z.string().refine(isZone, 'an IANA time zone such as Europe/Berlin'),
    units: z.strictObject({ pressure: z.enum(PRESSURE_UNITS), flow: z.enum(['sccm', 'slm']) }).default({ pressure: 'Pa', flow: 'sccm' }),
  }),
  calendar: z
    .strictObject({
      /** Time inside no shift is nonscheduled. No shifts at all: everything is scheduled. */
      shifts: z.array(shift).default([]),
      /** Other shifts from a date on, until the next change; what lies before stays as it was. */
      changes: z.array(z.strictObject({ from: localDate, shifts: z.array(shift) })).default([]),
      holidays: z.array(z.strictObject({ date: localDate, name })).default([]),
    })
    .default({ shifts: [], changes: [], holidays: [] }),
  /** How stops are told apart. */
  equipmentTime: z
    .strictObject({
      /** A stop cleared within this time, without maintenance or service mode, is an assist and no failure. SEMI E10 (from memory) takes 6. */
      assistLimitMin: z.number().nonnegative().max(60).default(6),
    })
    .default({ assistLimitMin: 6 }),
  servers: z.array(server).min(1),
  templates: z.record(z.string(), template),
  chambers: z.array(chamber).min(1).max(5000),
  /** In place of the usual list (reason-list.ts). */
  reasons: z.array(reason).min(1).max(200).optional(),
  engineeringRecipes: z.array(z.string().min(1)).default(['CND-*', 'TRL-*', 'LKT-*']),
  maintenance: z.array(maintenance).max(100).default([]),
  /** What several chambers share: alarms on all of them at once have it as their likely cause. */
  utilities: z.array(utility).max(200).default([]),
  alerts: z
    .strictObject({
      falseNoticesPerChamberMonth: z.number().positive().max(10).default(0.1),
      /** The chambers one person watches: the flood rule is per position. None: one position watches all. */
      positions: z.array(z.strictObject({ name, chambers: z.array(z.string()).min(1) })).default([]),
      routes: z.array(route).default([]),
      heartbeat: heartbeat.optional(),
      /** What becomes an alert, by kind, and who is told. */
      rules: alertRules.prefault({}),
      /** Who is told of what, where a rule does not say otherwise. */
      tell: tell.default({}),
    })
    .prefault({}),
  /** The fleet served back over OPC UA, read-only, for other systems of the plant. Off without it. */
  serve: z
    .strictObject({
      host: z.string().min(1).max(253).default('127.0.0.1'),
      port: z.int().min(1).max(65_535).default(4840),
      security: z.enum(['none', 'sign-and-encrypt']).default('sign-and-encrypt'),
    })
    .optional(),
  reports: z
    .strictObject({
      paper: z.enum(['a4', 'letter']).default('a4'),
      /** On Monday at this local time the summary of the week before goes out by these mail routes of `alerts`. */
      weekly: z.strictObject({ at: localTime.default('06:30'), routes: z.array(name).default([]) }).default({ at: '06:30', routes: [] }),
    })
    .default({ paper: 'a4', weekly: { at: '06:30', routes: [] } }),
});
export type SiteFile = z.infer<typeof siteFile>;

/** 2026-02-30 is none. Text of another form is another fault. */
function isDate(text: string): boolean {
  const at = Date.parse(`${text}T00:00:00Z`);
  return !/^\d{4}-\d{2}-\d{2}$/.test(text) || (!Number.isNaN(at) && new Date(at).toISOString().startsWith(text));
}

function isZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return true;
  } catch {
    return false;
  }
}
