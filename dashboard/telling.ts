/**
 * Telling why: which span a word is said of, and the reasons to choose from, those of the observed state first. A span that goes on now is
 * told without an end.
 */
import type { ReasonChoice, ReasonRow, StateInterval, Stop } from '../src/contract.ts';
import type { EquipmentState, ToldState } from '../src/equipment.ts';
import { stopText } from '../src/losses.ts';
import type { Stretch } from './day-strip.ts';
import { stateWord } from './format.ts';

const STATES: readonly ToldState[] = ['unscheduled-downtime', 'scheduled-downtime', 'standby', 'engineering', 'productive'];
const MINUTE_MS = 60_000;

export type TellSpan = {
  readonly chamber: string;
  readonly from: number;
  /** The end so far when it goes on. */
  readonly to: number;
  readonly isOn: boolean;
  readonly state: EquipmentState;
  readonly observed: string;
  readonly entry: string | null;
};

type ReasonGroup = { readonly state: ToldState; readonly reasons: readonly ReasonChoice[] };

export function reasonGroups(list: readonly ReasonChoice[], state: EquipmentState): readonly ReasonGroup[] {
  return STATES.toSorted((a, b) => Number(b === state) - Number(a === state))
    .map((one) => ({ state: one, reasons: list.filter((choice) => choice.state === one) }))
    .filter(({ reasons }) => reasons.length > 0);
}

/** What is known of a stop without a word begins where it began, which may be before the day. */
export function spanOf(chamber: string, stretch: Stretch, day: { end: number; stops: readonly Stop[] }): TellSpan {
  const { from, to, state, entry, observed } = stretch;
  const whole = entry === null ? day.stops.find((stop) => stop.chamber === chamber && stop.from < to && stop.to > from) : undefined;
  const isOn = to >= day.end && state !== 'unobserved' && state !== 'nonscheduled';
  return { chamber, from: Math.min(from, whole?.from ?? from), to, isOn, state, entry, observed: observedWords(observed) };
}

const observedWords = ({ states, reasons }: Stretch['observed']): string => `${states.map(stateWord).join(', ')}: ${stopText(reasons)}`;

export const stopSpan = ({ chamber, from, to, isOn, reasons }: Stop): TellSpan => ({
  chamber,
  from,
  to,
  isOn,
  state: 'unscheduled-downtime',
  observed: observedWords({ states: ['unscheduled-downtime'], reasons }),
  entry: null,
});

/** Stops of the day, told or not, the newest first: unscheduled downtime as observed or as told, longer than a minute. */
export function stopsOf(stretches: readonly Stretch[]): readonly Stretch[] {
  const isStop = ({ state, observed }: Stretch): boolean =>
    state === 'unscheduled-downtime' || observed.states.includes('unscheduled-downtime');
  return stretches.filter((one) => isStop(one) && one.to - one.from > MINUTE_MS).toReversed();
}

type StopLine = { readonly stop: Stop; readonly row: ReasonRow | null };

/** Stops without a word and, in their places, those told on this page whose entry still stands; the newest first. */
export function stopLines(stops: readonly Stop[], told: readonly ReasonRow[], justTold: ReadonlyMap<string, Stop>): readonly StopLine[] {
  const done = told.flatMap((row): StopLine[] => {
    const stop = justTold.get(row.entry);
    return stop === undefined ? [] : [{ stop, row }];
  });
  const isDone = (one: Stop): boolean => done.some(({ stop }) => stop.chamber === one.chamber && stop.from === one.from);
  const open = stops.filter((stop) => !isDone(stop)).map((stop): StopLine => ({ stop, row: null }));
  return [...open, ...done].sort((a, b) => b.stop.from - a.stop.from || (a.stop.chamber < b.stop.chamber ? -1 : 1));
}

/** Whether any part of the day was told by a person. */
export const isTold = (intervals: readonly StateInterval[]): boolean => intervals.some(({ entry }) => entry !== null);
