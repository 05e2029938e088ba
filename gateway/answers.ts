/**
 * What the gateway can be asked, answered from committed facts and the pure functions of src/. No answer is stored but finished weeks.
 */
import { chamberAlarms } from '../src/alarm-now.ts';
import { dayWindow, type Span } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { ChamberDetail, Fleet, Health, ServerLine } from '../src/contract.ts';
import type { StoredEvent } from '../src/event.ts';
import { nominalTimes } from '../src/effectiveness.ts';
import { Fault } from '../src/fault.ts';
import type { EarlierShift } from '../src/fleet-strip.ts';
import { loadRates, losses } from '../src/losses.ts';
import { standingAlarms } from '../src/tile.ts';
import { weekChanges } from '../src/week-changes.ts';
import { onlySeen } from '../src/seen.ts';
import { windowNumbers, type FleetWindow } from '../src/window.ts';
import { alarmAnswers } from './alarm-answers.ts';
import { alertAnswers } from './alert-answers.ts';
import { AlertBoard } from './alert-board.ts';
import { askedWindow } from './asked-window.ts';
import { Books } from './books.ts';
import type { Deed } from './pipeline.ts';
import { reasonAnswers } from './reason-answers.ts';
import type { ReasonBook } from './reason-book.ts';
import type { Clock } from './clock.ts';
import { chamberAcknowledge } from './chamber-acknowledge.ts';
import { CounterAnswers } from './counter-answers.ts';
import { DriftAnswers } from './drift-answers.ts';
import { explainAnswers } from './explain-answers.ts';
import type { Answers, DeliveryAnswers, PaperAnswers, Scope, SiteAnswers, Window } from './http/answers-port.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest } from './opcua/link-port.ts';
import type { Plant } from './plant.ts';
import { foundRun, runAnswers } from './run-answers.ts';
import { RunHistory } from './run-history.ts';
import type { Store } from './store/store.ts';
import { openTraces, type ReadTrace } from './trace-answer.ts';
import { WeekAnswers } from './week-answers.ts';

type AnswerParts = {
  readonly plant: Plant;
  readonly store: Store;
  readonly clock: Clock;
  readonly reasons: ReasonBook;
  /** Commits what a person did, and tells it. */
  readonly record: (deed: Deed) => Promise<unknown>;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
  readonly fleet: () => Fleet;
  readonly earlierShifts: () => readonly EarlierShift[];
  readonly servers: () => readonly ServerLine[];
  readonly health: () => Health;
  /** Recorded samples, the unwritten minute included. */
  readonly readTrace: ReadTrace;
  /** Asks a chamber's server to acknowledge an alarm. */
  readonly acknowledge: (request: AcknowledgeRequest) => Promise<AcknowledgeAnswer>;
};

/** The answers, and the ear by which they hear of committed facts. */
export type OpenAnswers = Omit<Answers, keyof PaperAnswers | keyof DeliveryAnswers | keyof SiteAnswers> & {
  /** Of the alerts, by which every page hears of them. */
  readonly board: AlertBoard;
  note(stored: readonly StoredEvent[]): void;
  /** To be called when another site file is in force: what was worked out by the one before is forgotten. */
  renew(): void;
};

const LAST_RUNS = 10;

export function openAnswers(parts: AnswerParts): OpenAnswers {
  const { plant, store, clock, state, reasons, record } = parts;
  const books = new Books({ store, clock, plant, reasons, state });
  const board = new AlertBoard({ store, clock });
  const alarms = alarmAnswers({ plant, store, books, clock, state });
  const traces = openTraces({ plant, readTrace: parts.readTrace, heardUntil: (id) => books.heardUntil([id])[id] });
  const history = new RunHistory({ store, clock, chambers: plant.ids.length });
  const drift = new DriftAnswers({ plant, history, store, clock });
  const counters = new CounterAnswers({ plant, history, clock, state });
  const beside = async (span: Span) => ({
    drift: await drift.warnings(span.to),
    changes: weekChanges(reasons.rows(span, plant.during(span)), span),
  });
  const weeks = new WeekAnswers({ plant, books, store, clock, beside });
  const windowOf = (window: Window) => askedWindow(window, plant.calendar, clock.now());
  const chambersOf = ({ window, chamber }: Scope): readonly string[] =>
    chamber === null ? plant.during(windowOf(window)) : [plant.chamber(chamber).id];
  /** A chamber alone is measured by what is nominal in the fleet. */
  const numbersOver = async (window: Span, chambers: readonly string[], asOf: number | null = null): Promise<FleetWindow> => {
    const fleet = plant.during(window);
    const [facts, runs] = await Promise.all([
      asOf === null ? books.facts(window, chambers) : books.factsAsOf(asOf, window, chambers),
      chambers.length < fleet.length ? store.events({ chambers: fleet, kinds: ['run-ended'], ...window }) : null,
    ]);
    const nominal = runs && nominalTimes(runs.filter((event) => event.kind === 'run-ended'));
    return windowNumbers(facts, window, { ...plant.calendar, ...(nominal && { nominal }) });
  };
  const computed = async (scope: Scope): Promise<FleetWindow> => {
    return numbersOver(windowOf(scope.window), chambersOf(scope));
  };
  return {
    fleet: parts.fleet,
    servers: parts.servers,
    health: parts.health,
    chamber: (id) => chamberDetail(parts, books, id),
    trace: traces,
    intervals: async (scope) => (await computed(scope)).intervals.flat(),
    losses: async (scope) => {
      const { intervals, chambers } = await computed(scope);
      return losses(intervals, loadRates(chambers));
    },
    numbers: async (scope) => {
      const { fleet, chambers } = await computed(scope);
      return (scope.chamber === null ? [fleet, ...chambers] : chambers).map(onlySeen);
    },
    events: ({ after, limit }) => store.events({ afterSeq: after, limit }),
    weeks: () => weeks.weeks(),
    week: (week) => weeks.week(week),
    drift: () => drift.fleet(),
    driftVerdicts: () => drift.verdicts(),
    chamberDrift: (query) => drift.chamber(query),
    counters: () => counters.counters(),
    renew: () => {
      weeks.forget();
      drift.forget();
    },
    note: (stored) => {
      weeks.note(stored);
      history.note(stored);
    },
    ...runAnswers(parts),
    ...explainAnswers({
      plant,
      clock,
      runs: parts,
      drift,
      counters,
      weeks,
      fleet: parts.fleet,
      earlierShifts: parts.earlierShifts,
      windowOf,
      numbersOver,
      chambersOf,
    }),
    ...alarms,
    ...chamberAcknowledge({ plant, clock, state, record, ask: parts.acknowledge }),
    ...alertAnswers({ plant, store, clock, books, reasons, alarms: (query) => alarms.alarms(query), board }),
    board,
    ...reasonAnswers({ plant, clock, books, reasons, record }),
  };
}

async function chamberDetail({ plant, store, clock, state, fleet }: AnswerParts, books: Books, id: string): Promise<ChamberDetail> {
  const { rules, signals, acknowledges } = plant.chamber(id);
  const tile = fleet().chambers.find((one) => one.chamber === id);
  if (tile === undefined)
    throw new Fault('not-found', `${id} was taken out of the site file; what it did is kept: its runs are under /api/runs?chamber=${id}.`);
  const now = clock.now();
  const today = { from: dayWindow(now, plant.site.zone).from, to: now };
  const [facts, runs] = await Promise.all([books.facts(today, [id]), store.runs({ chambers: [id], limit: LAST_RUNS })]);
  return {
    tile,
    standing: [...standingAlarms(rules, state(id))],
    alarms: chamberAlarms(rules, state(id).alarms, acknowledges),
    today: windowNumbers(facts, today, plant.calendar).intervals.flat(),
    runs: runs.map(foundRun),
    gases: Object.entries(rules.gases).map(([line, { kind, fullScaleMolPerS }]) => ({ line: Number(line), kind, fullScaleMolPerS })),
    rfMaxW: rules.rfMaxW,
    signals: [...signals],
    units: plant.units,
  };
}
