/**
 * What a person may enter.
 * [RT1] Nothing is told of the future: a span begins and ends by now, or it has no end.
 * [RT2] A span is at least a second and at most 60 days long; one without an end begins at most 60 days ago.
 * [RT3] The reason is one of the site's for that state; what it stands for comes from the list, what was worked on from the person if given.
 * [RT4] The same words entered again within ten seconds are a second click, not a second entry; after taking back they are a new one.
 */
import type { ToldState, WorkedOn } from './equipment.ts';
import type { ReasonEvent } from './event.ts';
import { Fault } from './fault.ts';
import { LONGEST_ENTRY_MS } from './reason.ts';
import { reasonOf, type Reason } from './reason-list.ts';

export type ReasonDraft = {
  readonly chamber: string;
  readonly from: number;
  readonly to: number | null;
  readonly state: ToldState;
  readonly reason: string;
  readonly note: string;
  readonly by: string;
  readonly workedOn?: readonly WorkedOn[] | undefined;
};

const SHORTEST_MS = 1_000;
const SECOND_CLICK_MS = 10_000;

/** The entry that a draft becomes, or a Fault `invalid` that says what to change. */
export function entryOf(
  draft: ReasonDraft,
  { entry, now, reasons }: { entry: string; now: number; reasons: readonly Reason[] },
): ReasonEvent {
  const known = reasonOf(reasons, draft.state, draft.reason);
  const wrong = spanFault(draft, now) ?? (known === undefined ? unknownReason(draft, reasons) : null);
  if (wrong !== null || known === undefined) throw new Fault('invalid', wrong ?? 'The reason is not known.');
  const { chamber, from, to, state, reason, note, by, workedOn = known.workedOn } = draft;
  const told = { to, state, reason, note, by, downtime: known.downtime, workedOn: [...new Set(workedOn)] };
  return { kind: 'reason', chamber, at: from, entry, ...told, enteredAt: now };
}

/** [RT1] [RT2] */
function spanFault({ from, to }: ReasonDraft, now: number): string | null {
  if (from > now) return 'The span begins in the future: nothing has happened there yet.';
  if (to === null) return now - from > LONGEST_ENTRY_MS ? 'The span begins more than 60 days ago. Give it an end.' : null;
  if (to > now) return 'The span ends in the future. Leave its end open: it then ends with the state that holds now.';
  if (to <= from) return 'The span ends before it begins: `to` must be later than `from`.';
  if (to - from < SHORTEST_MS) return 'The span is shorter than a second.';
  return to - from > LONGEST_ENTRY_MS ? 'The span is longer than 60 days. Enter it in parts.' : null;
}

/** [RT3] */
function unknownReason({ state }: ReasonDraft, reasons: readonly Reason[]): string {
  const words = reasons.filter((one) => one.state === state).map(({ reason }) => reason);
  if (words.length === 0) return 'The site has no reasons for that state. /api/reason-list lists them.';
  return `The site has no such reason for that state; it has ${words.join(', ')}.`;
}

/** [RT4] The entry of which a draft is the second click. `speed` is plant time per real time. */
export function firstClick(
  draft: ReasonDraft,
  effective: readonly ReasonEvent[],
  clock: { now: number; speed: number },
): ReasonEvent | undefined {
  const since = clock.now - SECOND_CLICK_MS * clock.speed;
  return effective.findLast(
    (entry) =>
      entry.enteredAt >= since &&
      entry.chamber === draft.chamber &&
      entry.at === draft.from &&
      entry.to === draft.to &&
      entry.state === draft.state &&
      entry.reason === draft.reason &&
      entry.note === draft.note &&
      entry.by === draft.by,
  );
}
