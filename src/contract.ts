/**
 * The wire between gateway and screens: what the socket carries and what the pages ask for. Facts are in event.ts, numbers in numbers.ts.
 * Protocol: the page says hello with the revision it last saw (or none) and gets `fleet` whole or `changes` since; afterwards `changes`
 * as they happen and at least every 2 s (empty is the heartbeat). A page that hears nothing for 5 s greys itself.
 * The socket is a websocket only (`transports: ['websocket']`): long polling sends no Origin and is refused. A message that is not in
 * `ToGateway`, or not of its shape, closes the socket. Acting requests of the HTTP API carry the header `x-glowfleet: 1`.
 */
import * as z from 'zod/mini';
import {
  ALARM_PRIORITIES,
  BOUNDARY_SOURCES,
  DOWNTIME_KINDS,
  EQUIPMENT_STATES,
  PHASES,
  SUPPRESSIONS,
  TOLD_STATES,
  WORKED_ON,
} from './equipment.ts';
import { alarmEvent, chamberEvent, reasonEvent, runEndedEvent } from './event.ts';
import { share } from './numbers.ts';
import { DEVIATIONS } from './run-facts.ts';

const at = z.int();

export const standingAlarm = z.object({
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  notice: z.boolean(),
  since: at,
});
export type StandingAlarm = z.infer<typeof standingAlarm>;

/** Beside the standing ones: alarms that wait for an acknowledgement or a reset at the machine, and those kept from being annunciated. */
const namedAlarm = z.object({
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  notice: z.boolean(),
  since: z.nullable(at),
});
export const chamberAlarms = z.object({
  /** `since` null: returned to normal. `earlier`: activations before the last one that wait too. */
  awaiting: z.array(z.extend(namedAlarm, { earlier: z.int(), canAcknowledge: z.boolean() })),
  /** Activations before the last one that wait for an acknowledgement or a confirmation of their own, by the time the machine names them by. */
  earlier: z.array(z.extend(namedAlarm, { of: at, canAcknowledge: z.boolean() })),
  /** Returned to normal, and held by the machine until somebody resets it there. */
  latched: z.array(namedAlarm),
  suppressed: z.array(z.extend(namedAlarm, { as: z.array(z.enum(SUPPRESSIONS)), until: z.nullable(at) })),
});
export type ChamberAlarms = z.infer<typeof chamberAlarms>;

/** A person acknowledges an alarm at its chamber; name and note go to the chamber as the comment. `of`: an earlier activation, as `earlier` names it. */
export const acknowledgeAlarm = z.object({
  by: z.string().check(z.trim(), z.minLength(1), z.maxLength(80)),
  note: z._default(z.string().check(z.trim(), z.maxLength(200)), ''),
  of: z.optional(at),
});
export const alarmAcknowledged = z.object({ text: z.string() });

/** One stretch of the running or last run: done, running, or expected (from the recipe and this chamber's own history). */
export const runStretch = z.object({ phase: z.enum(PHASES), step: z.nullable(z.int()), from: at, to: at, expected: z.boolean() });
export type RunStretch = z.infer<typeof runStretch>;

export const runningRun = z.object({
  run: z.string(),
  startedAt: at,
  recipe: z.nullable(z.string()),
  load: z.nullable(z.string()),
  /** When the chamber will be back at atmosphere; null while nothing is known to judge by. `basis` says what it rests on. */
  finish: z.nullable(z.object({ early: at, likely: at, late: at, basis: z.string() })),
  stretches: z.array(runStretch),
  /** Unobserved spans of what is done. */
  holes: z.array(z.object({ from: at, to: at })),
});

/** What a person must do here, most urgent first. */
export const NEEDS = ['call-maintenance', 'attend', 'unload', 'load'] as const;

/** Everything a wall tile shows of one chamber. */
export const chamberTile = z.object({
  chamber: z.string(),
  name: z.string(),
  bay: z.string(),
  floor: z.object({ column: z.int(), row: z.int() }),
  state: z.enum(EQUIPMENT_STATES),
  reason: z.string(),
  /** Set while state and reason are a person's word: whose, and what was observed. */
  told: z.nullable(
    z.object({ entry: z.string(), by: z.string(), observed: z.object({ state: z.enum(EQUIPMENT_STATES), reason: z.string() }) }),
  ),
  stateSince: at,
  phase: z.enum(PHASES),
  phaseSince: at,
  step: z.nullable(z.int()),
  stepCount: z.nullable(z.int()),
  recipe: z.nullable(z.string()),
  need: z.nullable(z.enum(NEEDS)),
  /** Set while vented and not opened. */
  waitingSince: z.nullable(at),
  run: z.nullable(runningRun),
  alarms: z.object({ standing: z.int(), worst: z.nullable(standingAlarm) }),
  /** Plant time of the last word heard from the chamber; null before the first. */
  heardAt: z.nullable(at),
  link: z.enum(['live', 'silent', 'never']),
  /** Device clock minus gateway clock. Null when not measured. */
  skewMs: z.nullable(z.number()),
});
export type ChamberTile = z.infer<typeof chamberTile>;

export const fleetStrip = z.object({
  /** Every chamber in exactly one; the words are those of the tiles (doing.ts). */
  counts: z.object({
    running: z.int(),
    /** Loading or unloading. */
    handling: z.int(),
    hold: z.int(),
    /** Productive by a person's word, without a run. */
    told: z.int(),
    /** To be unloaded. */
    waiting: z.int(),
    idle: z.int(),
    /** Unscheduled downtime. */
    down: z.int(),
    /** Scheduled downtime. */
    maintenance: z.int(),
    unobserved: z.int(),
    nonscheduled: z.int(),
    engineering: z.int(),
  }),
  nextToFinish: z.array(z.object({ chamber: z.string(), at })),
  shift: z.nullable(
    z.object({
      name: z.string(),
      from: at,
      to: at,
      loads: z.int(),
      utilization: share,
      /** The same elapsed part of up to 10 earlier shifts of that name: medians and how many there were. */
      usual: z.nullable(z.object({ shifts: z.int(), loads: z.number(), utilization: z.nullable(z.number()) })),
    }),
  ),
  alarms: z.object({ last10Min: z.int(), lastHour: z.int(), flooded: z.boolean() }),
  openAlerts: z.int(),
});
export type FleetStrip = z.infer<typeof fleetStrip>;

export const fleet = z.object({
  /** Changes when the gateway restarts: revisions of another boot mean nothing. */
  boot: z.string(),
  rev: z.int(),
  /** Sequence of the last committed event in it. */
  seq: z.int(),
  /** Plant time now and how fast it runs (1 except in an accelerated demo). */
  now: at,
  speed: z.number(),
  site: z.object({ name: z.string(), hall: z.string(), zone: z.string() }),
  chambers: z.array(chamberTile),
  strip: fleetStrip,
});
export type Fleet = z.infer<typeof fleet>;

export const changes = z.object({
  boot: z.string(),
  rev: z.int(),
  seq: z.int(),
  now: at,
  chambers: z.array(chamberTile),
  strip: z.nullable(fleetStrip),
});
export type Changes = z.infer<typeof changes>;

/** Live values of the one chamber a page watches, at most 4 a second. SI; null where the value is bad. */
export const liveValues = z.object({
  chamber: z.string(),
  now: at,
  values: z.array(z.object({ signal: z.string(), at, value: z.nullable(z.union([z.number(), z.boolean(), z.string()])) })),
});
export type LiveValues = z.infer<typeof liveValues>;

export const hello = z.object({ boot: z.nullable(z.string()), rev: z.nullable(z.int()) });
export const watch = z.object({ chamber: z.nullable(z.string().check(z.maxLength(64))) });

/** Socket events by direction. */
export type ToPage = {
  fleet: (m: Fleet) => void;
  changes: (m: Changes) => void;
  values: (m: LiveValues) => void;
  alerts: (m: AlertNews) => void;
};
export type ToGateway = { hello: (m: z.infer<typeof hello>) => void; watch: (m: z.infer<typeof watch>) => void };

export const interval = z.object({
  chamber: z.string(),
  from: at,
  to: at,
  state: z.enum(EQUIPMENT_STATES),
  reason: z.string(),
  source: z.enum(BOUNDARY_SOURCES),
  run: z.nullable(z.string()),
  /** The reason entry by which a person told this, then `source` is `person`; null where nobody did. */
  entry: z.nullable(z.string()),
  /** Of told downtime: which kind it was. */
  downtime: z.nullable(z.enum(DOWNTIME_KINDS)),
  /** What would stand here without the entry; null where nobody told anything. */
  observed: z.nullable(z.object({ state: z.enum(EQUIPMENT_STATES), reason: z.string() })),
});
export type StateInterval = z.infer<typeof interval>;

/**
 * Unscheduled downtime without a break but for short holes in which nobody observed; `downMs` leaves those out. `isOn`: it goes on now.
 * `reasons` are the observed ones, as they came.
 */
export const stop = z.object({ chamber: z.string(), from: at, to: at, isOn: z.boolean(), downMs: z.int(), reasons: z.array(z.string()) });
export type Stop = z.infer<typeof stop>;

/** Stops for which no person gave a reason yet, newest first; hours inside the window. */
export const stopsPage = z.object({
  from: at,
  to: at,
  unexplainedMs: z.int(),
  unscheduledMs: z.int(),
  /** Unexplained part of unscheduled downtime, null where there was none. */
  share: z.nullable(z.number()),
  stops: z.array(stop),
});
export type StopsPage = z.infer<typeof stopsPage>;

export const reasonChoice = z.object({
  state: z.enum(TOLD_STATES),
  reason: z.string(),
  downtime: z.nullable(z.enum(DOWNTIME_KINDS)),
  workedOn: z.array(z.enum(WORKED_ON)),
});
export type ReasonChoice = z.infer<typeof reasonChoice>;

/** One reason entry: who said what of which span and when, and whether it was taken back. */
export const reasonRow = z.extend(z.omit(reasonEvent, { kind: true, at: true }), {
  from: at,
  /** Where an entry without an end did end; null while it holds. The given end where there is one. */
  until: z.nullable(at),
  withdrawnAt: z.nullable(at),
  withdrawnBy: z.nullable(z.string()),
});
export type ReasonRow = z.infer<typeof reasonRow>;

const personName = z.string().check(z.trim(), z.minLength(1), z.maxLength(80));
export const enterReason = z.object({
  from: at,
  /** Null: until the observed state that holds now ends. */
  to: z.nullable(at),
  state: z.enum(TOLD_STATES),
  reason: z.string().check(z.trim(), z.minLength(1), z.maxLength(80)),
  note: z._default(z.string().check(z.trim(), z.maxLength(300)), ''),
  by: personName,
  /** Without it: what the reason usually stands for. */
  workedOn: z.optional(z.array(z.enum(WORKED_ON)).check(z.maxLength(WORKED_ON.length))),
});
export const withdrawReason = z.object({ by: personName });

/** The fact of a run's end, its moment under the name it has in a table. */
export const runRow = z.extend(z.omit(runEndedEvent, { kind: true, at: true }), { endedAt: at });
export type RunRow = z.infer<typeof runRow>;

/** A run with the codes of what deviated; null where it has no record. */
export const foundRun = z.extend(runRow, { deviations: z.nullable(z.array(z.enum(DEVIATIONS))) });
export type FoundRun = z.infer<typeof foundRun>;

/** What the chamber page needs besides its tile and live values. */
export const chamberDetail = z.object({
  tile: chamberTile,
  standing: z.array(standingAlarm),
  alarms: chamberAlarms,
  /** Local midnight to now. */
  today: z.array(interval),
  runs: z.array(foundRun),
  gases: z.array(z.object({ line: z.int(), kind: z.string(), fullScaleMolPerS: z.number() })),
  rfMaxW: z.number(),
  signals: z.array(z.string()),
  units: z.object({ pressure: z.string(), flow: z.string() }),
});
export type ChamberDetail = z.infer<typeof chamberDetail>;

/** Samples per signal as parallel arrays; a null value is a gap and is drawn as one. */
export const trace = z.object({
  chamber: z.string(),
  from: at,
  to: at,
  signals: z.array(z.object({ signal: z.string(), at: z.array(at), value: z.array(z.nullable(z.number())) })),
});
export type Trace = z.infer<typeof trace>;

export const alarmRow = z.extend(z.omit(alarmEvent, { kind: true, change: true, suppressedAs: true, shelvedUntil: true, of: true }), {
  clearedAt: z.nullable(at),
});
export type AlarmRow = z.infer<typeof alarmRow>;

/** What an alert may be about, and by which rule of the site file it comes. */
export const ALERT_KINDS = [
  'burst',
  'flood',
  'common-cause',
  'chattering',
  'stale',
  'down',
  'waiting',
  'no-data',
  'drift',
  'process-check',
  'meter-due',
  'certificate',
  'gateway',
] as const;
export type AlertKind = (typeof ALERT_KINDS)[number];
export const SEVERITIES = ALARM_PRIORITIES;
export type Severity = (typeof SEVERITIES)[number];

/** What an alert made of alarms counted. */
export const alertAlarms = z.object({
  /** Activations so far in the episode (chatter collapsed), with chatter, and the most within 10 minutes. */
  count: z.int(),
  rawCount: z.int(),
  peak10Min: z.int(),
  /** What is usual here: mean per 10 minutes in this kind of state, the threshold, and the observed hours behind it; null = not enough history. */
  usual: z.nullable(z.object({ per10Min: z.number(), threshold: z.int(), observedHours: z.number(), expectedFalsePerMonth: z.number() })),
  firstOut: z.nullable(z.object({ chamber: z.string(), code: z.string(), text: z.string(), at })),
  top: z.array(z.object({ chamber: z.string(), code: z.string(), text: z.string(), count: z.int() })),
});
export type AlertAlarms = z.infer<typeof alertAlarms>;

export const alert = z.object({
  /** `<kind>/<subject>/<ISO start>`: the same facts give the same alert. */
  id: z.string(),
  kind: z.enum(ALERT_KINDS),
  /** Null where it is about more than one, or about none. */
  chamber: z.nullable(z.string()),
  /** Where the flood rule is applied per operator position. */
  position: z.nullable(z.string()),
  severity: z.enum(SEVERITIES),
  state: z.enum(['open', 'closed']),
  startedAt: at,
  updatedAt: at,
  closedAt: z.nullable(at),
  /** Somebody saw it. */
  acknowledgedAt: z.nullable(at),
  acknowledgedBy: z.nullable(z.string()),
  /** Somebody works on it. */
  takenAt: z.nullable(at),
  takenBy: z.nullable(z.string()),
  headline: z.string(),
  /** Which rule, with its numbers and where they come from. */
  rule: z.string(),
  /** What a person may do now. */
  cure: z.nullable(z.string()),
  /** Of a burst: other chambers that burst within the same minutes. Of what is about several chambers: those chambers. */
  together: z.array(z.string()),
  /** What they have in common by the site file: a utility, a server, a position. */
  shares: z.nullable(z.string()),
  /** The wider alert that tells this one as well: it stands in the inbox and is not told on its own. */
  partOf: z.nullable(z.string()),
  /** Of what is made of alarms; null for the other kinds. */
  alarms: z.nullable(alertAlarms),
  /** Evidence in words. */
  facts: z.array(z.object({ label: z.string(), value: z.string() })),
});
export type Alert = z.infer<typeof alert>;

/** One message on its way by one route. Its id is the key by which a receiver can tell a repeat. */
export const delivery = z.object({
  id: z.string(),
  /** Of a digest the first of its alerts; of a test no alert. */
  alert: z.string(),
  route: z.string(),
  /** opened, closed, repeated-<n>, escalated, digest-<ISO time>, test */
  stage: z.string().check(z.regex(/^(opened|closed|escalated|test|repeated-\d{1,6}|digest-[\dTZ:.-]{1,32})$/)),
  /** gathered: leaves inside `digest`. spared: need not leave; `lastError` says why. dead: given up, can be sent again. */
  state: z.enum(['waiting', 'gathered', 'delivered', 'dead', 'spared']),
  attempts: z.int(),
  nextAt: z.nullable(at),
  deliveredAt: z.nullable(at),
  lastError: z.nullable(z.string()),
  /** When it was first due; older ones do not say. */
  dueAt: z.optional(at),
  /** The message it left in. */
  digest: z.optional(z.string()),
  /** Of a digest, the ids of the messages in it. */
  covers: z.optional(z.array(z.string())),
});
export type Delivery = z.infer<typeof delivery>;

/** Of how many messages a person decided at once. */
export const deliveriesChanged = z.object({ count: z.int() });

/** How one route of messages is doing. */
export const routeLine = z.object({
  route: z.string(),
  /** gone: the site file has it no more, and messages are left. */
  type: z.enum(['webhook', 'mail', 'heartbeat', 'gone']),
  /** Where it goes, without what might be a secret. */
  place: z.string(),
  state: z.enum(['well', 'failing', 'unused']),
  lastDeliveredAt: z.nullable(at),
  failingSince: z.nullable(at),
  lastError: z.nullable(z.string()),
  waiting: z.int(),
  /** Given up, and neither sent again nor set aside since. */
  dead: z.int(),
});
export type RouteLine = z.infer<typeof routeLine>;

/** `headline` of its alert, null where there is none. */
export const deliveryRow = z.extend(delivery, { headline: z.nullable(z.string()) });
export type DeliveryRow = z.infer<typeof deliveryRow>;
/** Who acts. */
export const byPerson = z.object({ by: z.string().check(z.trim(), z.minLength(1), z.maxLength(80)) });

export const alertWithDeliveries = z.extend(alert, { deliveries: z.array(delivery) });
/** What every page knows of an open alert, and is told when it changes or closes. */
export const alertBrief = z.extend(
  z.pick(alert, {
    ...{ id: true, kind: true, chamber: true, severity: true, state: true, startedAt: true, headline: true },
    ...{ acknowledgedBy: true, takenBy: true, partOf: true },
  }),
  /** Nobody is told of it until then; null where nobody muted it. */
  { mutedUntil: z.nullable(at) },
);
export type AlertBrief = z.infer<typeof alertBrief>;
/** `isWhole`: these are all that are open; otherwise what changed. */
export const alertNews = z.object({ rev: z.int(), open: z.int(), isWhole: z.boolean(), changed: z.array(alertBrief) });
export type AlertNews = z.infer<typeof alertNews>;

export const acknowledge = z.object({ by: z.string().check(z.trim(), z.minLength(1), z.maxLength(80)) });

/** The summary of a week on its way by one mail route. */
export const weekLetter = z.object({
  /** `week|<week>|<route>`: there is one, however often it is tried. */
  id: z.string(),
  week: z.string(),
  route: z.string(),
  dueAt: at,
  /** Not worth sending from then on. */
  until: at,
  state: z.enum(['waiting', 'delivered', 'dead']),
  attempts: z.int(),
  nextAt: z.nullable(at),
  deliveredAt: z.nullable(at),
  lastError: z.nullable(z.string()),
  /** The main numbers as they were mailed, null before. */
  figures: z.nullable(z.array(z.object({ name: z.string(), text: z.string() }))),
});
export type WeekLetter = z.infer<typeof weekLetter>;

/** What became of a week's mail, and which of its numbers read otherwise today. */
export const weekMail = z.object({
  letters: z.array(weekLetter),
  revised: z.array(z.object({ name: z.string(), mailed: z.string(), now: z.string() })),
});
export type WeekMail = z.infer<typeof weekMail>;

export const problem = z.object({ code: z.string(), message: z.string() });

/** One line per ISO week that has facts, newest first. `hours` is 167, 168 or 169 in most zones. */
export const weekLine = z.object({ week: z.string(), from: at, to: at, hours: z.number(), complete: z.boolean() });
export type WeekLine = z.infer<typeof weekLine>;

/** How the link to one OPC UA server is doing. */
export const serverLine = z.object({
  server: z.string(),
  state: z.enum(['connecting', 'live', 'silent', 'refused']),
  /** One sentence with the cure; '' when live. */
  message: z.string(),
  skewMs: z.nullable(z.number()),
  lastHeardAt: z.nullable(at),
  badTags: z.array(z.object({ chamber: z.string(), signal: z.string(), reason: z.string() })),
  /** Those of the last attempt to connect. */
  certificates: z.optional(z.array(z.object({ whose: z.enum(['server', 'user']), validTo: at }))),
  counters: z.object({
    values: z.int(),
    sequenceGaps: z.int(),
    overflows: z.int(),
    rebuilds: z.int(),
    handlerErrors: z.int(),
    /** Values of all servers together that the gateway did not take in time. */
    dropped: z.optional(z.int()),
  }),
});
export type ServerLine = z.infer<typeof serverLine>;

/** A committed fact with its place in the store's order. */
export const storedEvent = z.intersection(chamberEvent, z.object({ seq: z.int() }));

/** `problems` are sentences for people; empty when ready. */
export const health = z.object({
  ready: z.boolean(),
  problems: z.array(z.string()),
  /** Our own certificate, by which servers know this gateway: its thumbprint is compared there. */
  own: z.optional(z.nullable(z.object({ thumbprint: z.string(), validTo: at }))),
});
export type Health = z.infer<typeof health>;
