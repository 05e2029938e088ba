/**
 * What the gateway can be asked, answered from committed facts and the pure functions of src/. No answer is stored but finished weeks.
 */
import { dayWindow } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { ChamberDetail, Fleet, Health, RunRow, ServerLine, Trace } from '../src/contract.ts';
import type { EventOf, StoredEvent } from '../src/event.ts';
import { Fault } from '../src/fault.ts';
import { heldSeries } from '../src/held-series.ts';
import { isSignalName, SIGNALS } from '../src/signal.ts';
import { thinned } from '../src/thinning.ts';
import { standingAlarms } from '../src/tile.ts';
import { windowNumbers, type FleetWindow } from '../src/window.ts';
import { DAY_MS, HOUR_MS } from '../src/zone.ts';
import { alarmJournal } from './alarm-journal.ts';
import { askedWindow } from './asked-window.ts';
import { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { Answers, Scope, TraceQuery } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import type { Store } from './store/store.ts';
import { WeekAnswers } from './week-answers.ts';

export type AnswerParts = {
  readonly plant: Plant;
  readonly store: Store;
  readonly clock: Clock;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
  readonly fleet: () => Fleet;
  readonly servers: () => readonly ServerLine[];
  readonly health: () => Health;
  /** Recorded samples, the unwritten minute included. */
  readonly readTrace: (query: { chamber: string; signals: readonly string[]; from: number; to: number }) => Promise<Trace>;
};

/** The answers, and the ear by which they hear of committed facts. */
export type OpenAnswers = Answers & { note(stored: readonly StoredEvent[]): void };

const LAST_RUNS = 10;
const MOST_SIGNALS = 50;
/** How far back a trace looks for what held when its window opened. */
const LOOK_BACK_MS = HOUR_MS;
const LONGEST_RUN_MS = 7 * DAY_MS;

export function openAnswers(parts: AnswerParts): OpenAnswers {
  const { plant, store, clock, state } = parts;
  const books = new Books({ store, clock, state });
  const weeks = new WeekAnswers({ plant, books, store, clock });
  const chambersOf = (scope: Scope): readonly string[] => (scope.chamber === null ? plant.ids : [plant.chamber(scope.chamber).id]);
  const windowOf = (scope: Scope) => askedWindow(scope.window, plant.calendar, clock.now());
  const computed = async (scope: Scope): Promise<FleetWindow> => {
    const window = windowOf(scope);
    return windowNumbers(await books.facts(window, chambersOf(scope)), window, plant.calendar);
  };
  return {
    fleet: parts.fleet,
    servers: parts.servers,
    health: parts.health,
    chamber: (id) => chamberDetail(parts, books, id),
    trace: (query) => traceOf(parts, books, query),
    runs: async (query) => {
      const found = await store.events({
        chambers: chambersOf(query),
        kinds: ['run-ended'],
        ...windowOf(query),
        order: 'newest',
        limit: query.limit,
      });
      return found.flatMap(runRow);
    },
    run: (id) => runOf(parts, id),
    intervals: async (scope) => (await computed(scope)).intervals.flat(),
    numbers: async (scope) => {
      const { fleet, chambers } = await computed(scope);
      return scope.chamber === null ? [fleet, ...chambers] : chambers;
    },
    alarms: async (query) =>
      alarmJournal(store, { window: windowOf(query), chambers: chambersOf(query), limit: query.limit, now: clock.now() }),
    events: ({ after, limit }) => store.events({ afterSeq: after, limit }),
    weeks: () => weeks.weeks(),
    week: (week) => weeks.week(week),
    note: (stored) => weeks.note(stored),
    ...alertAnswers(store, clock),
  };
}

function alertAnswers(store: Store, clock: Clock): Pick<Answers, 'alerts' | 'alert' | 'acknowledge'> {
  return {
    alerts: async ({ state, limit }) => {
      const alerts = await store.alerts({ ...(state === null ? {} : { state }), limit });
      const deliveries = Map.groupBy(await store.deliveries({ alerts: alerts.map((alert) => alert.id) }), (delivery) => delivery.alert);
      return alerts.map((alert) => ({ ...alert, deliveries: deliveries.get(alert.id) ?? [] }));
    },
    alert: async (id) => {
      const alert = (await store.alerts({})).find((one) => one.id === id);
      if (alert === undefined) throw new Fault('not-found', 'There is no such alert. /api/alerts lists them.');
      return { ...alert, deliveries: [...(await store.deliveries({ alerts: [id] }))] };
    },
    acknowledge: (id, by) => store.acknowledgeAlert(id, by, clock.now()),
  };
}

async function chamberDetail({ plant, store, clock, state, fleet }: AnswerParts, books: Books, id: string): Promise<ChamberDetail> {
  const { rules, signals } = plant.chamber(id);
  const tile = fleet().chambers.find((one) => one.chamber === id);
  if (tile === undefined) throw new Fault('not-found', 'The site has no chamber of that name.');
  const now = clock.now();
  const today = { from: dayWindow(now, plant.site.zone).from, to: now };
  const [facts, runs] = await Promise.all([
    books.facts(today, [id]),
    store.events({ chambers: [id], kinds: ['run-ended'], order: 'newest', limit: LAST_RUNS }),
  ]);
  return {
    tile,
    standing: [...standingAlarms(rules, state(id))],
    today: windowNumbers(facts, today, plant.calendar).intervals.flat(),
    runs: runs.flatMap(runRow),
    gases: Object.entries(rules.gases).map(([line, { kind, fullScaleMolPerS }]) => ({ line: Number(line), kind, fullScaleMolPerS })),
    rfMaxW: rules.rfMaxW,
    signals: [...signals],
    units: plant.units,
  };
}

async function traceOf({ plant, readTrace }: AnswerParts, books: Books, query: TraceQuery): Promise<Trace> {
  const own = plant.chamber(query.chamber);
  const signals = query.signals ?? own.signals.filter((signal) => SIGNALS[signal].kind === 'analog');
  const unknown = signals.find((signal) => !isSignalName(signal));
  if (unknown !== undefined)
    throw new Fault('invalid', `"${unknown.slice(0, 64)}" is no signal. /api/chambers/<id> lists those of a chamber under "signals".`);
  if (signals.length > MOST_SIGNALS) throw new Fault('invalid', `At most ${MOST_SIGNALS} signals at once.`);
  // The last word itself is known too.
  const known = Math.min(query.to, (books.heardUntil([own.id])[own.id] ?? query.from) + 1);
  const window = { from: query.from, to: Math.max(query.from, known) };
  const whole = await readTrace({ chamber: own.id, signals, from: query.from - LOOK_BACK_MS, to: query.to });
  const shown = whole.signals.map(({ signal, ...series }) => ({ signal, ...thinned(heldSeries(series, window), query.maxPoints) }));
  return { chamber: own.id, from: query.from, to: query.to, signals: shown };
}

/** The id tells chamber and start: `<chamber>/<start as ISO 8601 UTC>`. */
async function runOf({ plant, store, state }: AnswerParts, id: string): Promise<RunRow> {
  const cut = id.indexOf('/');
  const [name, from] = [id.slice(0, cut), Date.parse(id.slice(cut + 1))];
  if (cut < 1 || Number.isNaN(from))
    throw new Fault('invalid', 'A run is asked for as <chamber>/<start as ISO 8601 UTC>, percent-encoded.');
  const chamber = plant.chamber(name).id;
  if (state(chamber).run?.run === id) throw new Fault('not-found', 'This run is not over yet. /api/chambers/<id> shows it.');
  const found = await store.events({ chambers: [chamber], kinds: ['run-ended'], from, to: from + LONGEST_RUN_MS });
  const run = found.flatMap(runRow).find((row) => row.run === id);
  if (run === undefined) throw new Fault('not-found', 'There is no such run. /api/runs lists them.');
  return run;
}

function runRow(event: StoredEvent): RunRow[] {
  if (event.kind !== 'run-ended') return [];
  const { run, chamber, startedAt, outcome, recipe, load, engineering, doorClosedAt, phases, observedMs } =
    event satisfies EventOf<'run-ended'>;
  return [{ run, chamber, startedAt, endedAt: event.at, outcome, recipe, load, engineering, doorClosedAt, phases, observedMs }];
}
