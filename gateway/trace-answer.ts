/**
 * Recorded values as lines for a screen. A long window is read and thinned piece by piece, and one such question at a time, so that nobody
 * who draws a week holds up the wall.
 */
import { setImmediate } from 'node:timers/promises';
import type { Span } from '../src/calendar.ts';
import type { Trace } from '../src/contract.ts';
import { Fault } from '../src/fault.ts';
import { heldSeries } from '../src/held-series.ts';
import { isSignalName, SIGNALS } from '../src/signal.ts';
import { thinned } from '../src/thinning.ts';
import { DAY_MS, HOUR_MS } from '../src/zone.ts';
import type { TraceQuery } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import { portions } from './portions.ts';
import { turns } from './turns.ts';

export type ReadTrace = (query: { chamber: string; signals: readonly string[]; from: number; to: number }) => Promise<Trace>;
type TraceParts = {
  readonly plant: Plant;
  readonly readTrace: ReadTrace;
  /** Time of the last word of a chamber. */
  readonly heardUntil: (chamber: string) => number | undefined;
};

const MOST_SIGNALS = 50;
/** How far back a trace looks for what held when its window opened. */
const LOOK_BACK_MS = HOUR_MS;
const PIECE_MS = HOUR_MS;
const LONGEST_TRACE_MS = 8 * DAY_MS;
const LEAST_POINTS = 30;
const FINER = 4;

type Lines = Trace['signals'];

export function openTraces(parts: TraceParts): (query: TraceQuery) => Promise<Trace> {
  const inTurn = turns();
  return async (query) => {
    const { plant, heardUntil } = parts;
    const own = plant.chamber(query.chamber);
    if (query.to - query.from > LONGEST_TRACE_MS) throw new Fault('invalid', 'A trace shows at most 8 days. Ask for parts of the window.');
    const signals = asked(query, own.signals);
    const read = (): Promise<Lines> => readLines(parts.readTrace, { ...query, chamber: own.id }, signals);
    const isLong = query.to - query.from > PIECE_MS;
    const lines = await (isLong ? inTurn(read) : read());
    // The last word itself is known too.
    const known = Math.min(query.to, (heardUntil(own.id) ?? query.from) + 1);
    const window = { from: query.from, to: Math.max(query.from, known) };
    const shown = lines.map(({ signal, ...series }) => ({ signal, ...thinned(heldSeries(series, window), query.maxPoints) }));
    return { chamber: own.id, from: query.from, to: query.to, signals: shown };
  };
}

function asked(query: TraceQuery, known: Plant['chambers'][number]['signals']): readonly string[] {
  const signals = query.signals ?? known.filter((signal) => SIGNALS[signal].kind === 'analog');
  const unknown = signals.find((signal) => !isSignalName(signal));
  if (unknown !== undefined)
    throw new Fault('invalid', `"${unknown.slice(0, 64)}" is no signal. /api/chambers/<id> lists those of a chamber under "signals".`);
  if (signals.length > MOST_SIGNALS) throw new Fault('invalid', `At most ${MOST_SIGNALS} signals at once.`);
  return signals;
}

/** What held before the window, then its pieces: of each the extremes and gaps survive, several times finer than what is asked for. */
async function readLines(readTrace: ReadTrace, query: TraceQuery, signals: readonly string[]): Promise<Lines> {
  const { chamber, from, maxPoints } = query;
  const before = await readTrace({ chamber, signals, from: from - LOOK_BACK_MS, to: from });
  const lines = before.signals.map(({ signal, at, value }) => ({ signal, at: at.slice(-1), value: value.slice(-1) }));
  const pieces: Span[] = [...portions(query, PIECE_MS)];
  const pointsEach = pieces.length === 1 ? Infinity : Math.max(LEAST_POINTS, Math.ceil((FINER * maxPoints) / pieces.length));
  for (const piece of pieces) {
    await setImmediate();
    const whole = await readTrace({ chamber, signals, ...piece });
    whole.signals.forEach((series, i) => {
      const { at, value } = thinned(series, pointsEach);
      const line = lines[i] as Lines[number];
      lines[i] = { signal: line.signal, at: line.at.concat(at), value: line.value.concat(value) };
    });
  }
  return lines;
}
