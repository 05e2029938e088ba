/**
 * A chamber's story as text, for engineers to write. One line each:
 *
 *   # remark                                       first lines: the title
 *   start 2026-11-25T06:00:00Z                     all other times count from here: m:ss or h:mm:ss
 *   rules signals | tag                            without or with the controller's phase tag
 *   steps plasma-steps | all-steps | unsaid        what recipe.step counts by the site file; plasma-steps where this line is not
 *   beat 0:00..40:00                               the controller's heartbeat, every second
 *   silence 10:00..12:00                           nothing is heard in between; told once the word is back
 *   chamber.doorClosed  true@0:00 false@1:00       a series: values of one signal; a flow may say sccm, a pressure mTorr
 *   chamber.pressure    760Torr>13Pa@6:05..8:25    a ramp in equal ratios, every second
 *   alarm.RF_FAULT      false@0:00 true@9:00
 *   rf.forward          0@0:00 bad@20:00           a value of bad quality
 *   expect phase 6:05 pump-down                    every phase from the first to the last, in order; steps as `plasma 2`
 *   expect state 6:05 productive run               every equipment state with its reason
 *   expect run 6:05..37:30 completed               every ended run, then `engineering` and `observed m:ss` where it matters
 *   expect alarm 9:00 RF_FAULT activated           every alarm change; `uncounted` where nobody saw it begin
 *   expect finding 36:00 purge-short
 *
 * A kind of fact that is expected nowhere is not looked at; one that is expected must agree line by line, to the second.
 */
import type { ChamberRules } from '../../src/chamber-rules.ts';
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { Reading, SignalValue } from '../../src/reading.ts';
import { toSi } from '../../src/units.ts';
import type { Unit } from '../../src/units.ts';
import { rulesBySignals, rulesByTag } from './scenario-rules.ts';

export type Scenario = { readonly rules: ChamberRules; readonly readings: readonly Reading[]; readonly expected: readonly string[] };

export function readScenario(text: string): Scenario {
  let startAt = 0;
  let rules = rulesBySignals;
  let stepCounts: ChamberRules['stepCounts'] = rules.stepCounts;
  let silences: { from: number; to: number }[] = [];
  const readings: Reading[] = [];
  const expected: string[] = [];
  const push = (signal: string, value: SignalValue, at: number): void => {
    readings.push({
      chamber: 'PC-01',
      signal: signal as Reading['signal'],
      value: value === 'bad' ? null : value,
      quality: value === 'bad' ? 'bad' : 'good',
      at,
      timeOrigin: 'source',
      receivedAt: at,
    });
  };
  for (const line of text.split('\n').map((each) => each.trim())) {
    const [word = '', ...rest] = line.split(/\s+/);
    if (word === '' || word === '#') continue;
    else if (word === 'start') startAt = Date.parse(rest[0] ?? '');
    else if (word === 'rules') rules = rest[0] === 'tag' ? rulesByTag : rulesBySignals;
    else if (word === 'steps') stepCounts = rest[0] === 'unsaid' ? null : rest[0] === 'all-steps' ? 'all-steps' : 'plasma-steps';
    else if (word === 'beat') rest.forEach((span) => beats(span, startAt, push));
    else if (word === 'silence') silences = [...silences, ...rest.map((span) => spanOf(span, startAt))];
    else if (word === 'expect') expected.push(rest.join(' '));
    else rest.forEach((item) => series(word, item, startAt, push));
  }
  return { rules: { ...rules, stepCounts }, readings: heard(readings, silences, startAt), expected };
}

type Push = (signal: string, value: SignalValue, at: number) => void;

function beats(span: string, startAt: number, push: Push): void {
  const { from, to } = spanOf(span, startAt);
  for (let at = from; at <= to; at += 1000) push('controller.heartbeat', (at - startAt) / 1000, at);
}

/** In order of time; what fell into a silence is lost but for each signal's last value, told with its own time when the word is back. */
function heard(readings: readonly Reading[], silences: readonly { from: number; to: number }[], startAt: number): readonly Reading[] {
  const alive = (value: boolean, at: number): Reading => ({
    chamber: 'PC-01',
    signal: 'link.alive',
    value,
    quality: 'good',
    at,
    timeOrigin: 'receipt',
    receivedAt: at,
  });
  const inside = ({ at }: Reading): { from: number; to: number } | undefined => silences.find(({ from, to }) => at > from && at < to);
  const told = silences.flatMap(({ from, to }) => {
    const lost = new Map(
      readings
        .filter((each) => each.at > from && each.at < to)
        .toSorted((a, b) => a.at - b.at)
        .map((each) => [each.signal, each]),
    );
    return [alive(false, from), ...lost.values(), alive(true, to)];
  });
  return [alive(true, startAt), ...readings.filter((each) => !inside(each)), ...told].toSorted((a, b) => a.at - b.at);
}

function series(signal: string, item: string, startAt: number, push: Push): void {
  const [what = '', when = ''] = item.split('@');
  if (!what.includes('>')) return push(signal, valueOf(what), startAt + timeOf(when));
  const [first, last] = what.split('>').map((each) => valueOf(each) as number) as [number, number];
  const { from, to } = spanOf(when, startAt);
  for (let at = from; at <= to; at += 1000) push(signal, first * (last / first) ** ((at - from) / (to - from)), at);
}

function valueOf(text: string): SignalValue {
  if (text === 'true' || text === 'false') return text === 'true';
  const number = /^(-?\d+(?:\.\d+)?)([A-Za-z]*)$/.exec(text);
  if (!number) return text;
  return number[2] === '' ? Number(number[1]) : toSi(Number(number[1]), number[2] as Unit);
}

function spanOf(text: string, startAt: number): { from: number; to: number } {
  const [from = '', to = ''] = text.split('..');
  return { from: startAt + timeOf(from), to: startAt + timeOf(to) };
}

/** m:ss, h:mm:ss, to ms. */
const timeOf = (text: string): number => 1000 * text.split(':').reduce((sum, part) => 60 * sum + Number(part), 0);

export function play({ rules, readings }: Scenario): { readonly events: readonly ChamberEvent[]; readonly state: ChamberState } {
  let state = initialChamber(rules);
  const events: ChamberEvent[] = [];
  for (const reading of readings) {
    const next = observe(rules, state, reading);
    state = next.state;
    events.push(...next.events);
  }
  return { events, state };
}

/** The events in the words of `expect`, of the kinds that are expected, in order of time. */
export function said({ expected, readings }: Scenario, events: readonly ChamberEvent[]): readonly string[] {
  const startAt = readings[0]?.at ?? 0;
  const kinds = new Set(expected.map((line) => line.split(' ')[0]));
  const lines = events.map((event) => ({ at: event.kind === 'run-ended' ? event.startedAt : event.at, line: lineOf(event, startAt) }));
  return lines
    .toSorted((a, b) => a.at - b.at)
    .map(({ line }) => line)
    .filter((line) => kinds.has(line.split(' ')[0]));
}

function lineOf(event: ChamberEvent, startAt: number): string {
  const at = clock(event.at - startAt);
  switch (event.kind) {
    case 'phase':
      return `phase ${at} ${event.phase}${event.step === null ? '' : ` ${event.step}`}`;
    case 'equipment-state':
      return `state ${at} ${event.state} ${event.reason}`;
    case 'run-started':
      return `started ${at}`;
    case 'run-ended': {
      const short = event.observedMs === event.at - event.startedAt ? '' : ` observed ${clock(event.observedMs)}`;
      return `run ${clock(event.startedAt - startAt)}..${at} ${event.outcome}${event.engineering ? ' engineering' : ''}${short}`;
    }
    case 'alarm':
      return `alarm ${at} ${event.code} ${event.change}${event.change === 'activated' && !event.counted ? ' uncounted' : ''}`;
    case 'finding':
      return `finding ${at} ${event.code}`;
    case 'run-record':
      return `record ${at} ${event.record.deviations.map(({ code }) => code).join(' ')}`.trim();
    case 'reason':
    case 'reason-withdrawn':
      return `${event.kind} ${at}`;
  }
}

function clock(ms: number): string {
  const [h, m, s] = [Math.floor(ms / 3_600_000), Math.floor(ms / 60_000) % 60, (ms / 1000) % 60];
  const two = (n: number): string => (n < 10 ? `0${n}` : String(n));
  return h > 0 ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}
