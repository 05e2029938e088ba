/**
 * Unscheduled stops of one chamber, in the manner of SEMI E10 (from memory): a stop is a failure, or an assist where somebody set it going again at once.
 * [IU1] A stop is unscheduled downtime without a break. What its reason says may change inside it, and nonscheduled time inside it does not end it.
 * [IU2] An assist was cleared within the assist limit, 6 minutes unless the site file says otherwise (equipmentTime.assistLimitMin), without
 *       maintenance or service mode, and nobody says repair, test or delay of any part of it. No word makes an assist of any other stop; it decides
 *       only where the length is not known [IU4] and what was seen of it is within the limit.
 * [IU3] A stop told as facilities or out-of-spec input from begin to end was not the equipment's: it is neither. Every other stop is a failure.
 * [IU4] A stop that unobserved time touches has no known length: it is told as cut, never an assist by its length alone, and no repair time is
 *       taken from it. Downtime on both sides of unobserved time is one stop. One after which nothing more is known is not over.
 * [IU5] Repair time is the stop's downtime without what a person's reason calls delay. A stop not over yet has none.
 * [IU6] A stop counts where it began. It hit production when it began in a run, or out of productive time.
 * [IU7] A downtime event is downtime without a break, scheduled or not, by the same rules.
 */
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { DowntimeKind, EquipmentState } from './equipment.ts';
import { MINUTE_MS } from './zone.ts';

/** [IU2] In the manner of SEMI E10, from memory. */
export const ASSIST_LIMIT_MS = 6 * MINUTE_MS;

export type Interrupt = Span & {
  readonly chamber: string;
  readonly kind: 'failure' | 'assist' | 'external';
  readonly inProduction: boolean;
  /** [IU4] */
  readonly cut: boolean;
  /** Still going on where the intervals end. */
  readonly open: boolean;
  /** [IU5] */
  readonly downMs: number;
  readonly delayMs: number;
  /** What the chamber said first. */
  readonly reason: string;
  readonly run: string | null;
};

const UNSCHEDULED: readonly EquipmentState[] = ['unscheduled-downtime'];
const DOWN: readonly EquipmentState[] = ['unscheduled-downtime', 'scheduled-downtime'];
const WORK: readonly (DowntimeKind | null)[] = ['repair', 'test', 'user-delay', 'supplier-delay'];
const EXTERNAL: readonly (DowntimeKind | null)[] = ['facilities', 'out-of-spec-input'];
const DELAY: readonly (DowntimeKind | null)[] = ['user-delay', 'supplier-delay'];

/** [IU1]-[IU6] The stops in the intervals of one chamber, which follow one another. */
export function interrupts(intervals: readonly StateInterval[], assistLimitMs = ASSIST_LIMIT_MS): readonly Interrupt[] {
  return stretches(intervals, UNSCHEDULED).map((stretch) => interruptOf(stretch, assistLimitMs));
}

/** [IU7] */
export function downtimeEvents(intervals: readonly StateInterval[]): readonly Span[] {
  return stretches(intervals, DOWN).map(({ parts }) => ({
    from: (parts[0] as StateInterval).from,
    to: (parts.at(-1) as StateInterval).to,
  }));
}

type Stretch = { readonly parts: StateInterval[]; readonly before: StateInterval | undefined; cut: boolean; open: boolean };

/** [IU1] [IU4] Downtime up to the next time that was surely not downtime. */
function stretches(intervals: readonly StateInterval[], states: readonly EquipmentState[]): readonly Stretch[] {
  const found: Stretch[] = [];
  let current: Stretch | null = null;
  let unseen = false;
  for (const [i, interval] of intervals.entries()) {
    if (states.includes(interval.state)) {
      if (current === null) found.push((current = { parts: [], before: intervals[i - 1], cut: false, open: true }));
      current.cut ||= unseen;
      current.parts.push(interval);
      unseen = false;
    } else if (interval.state === 'unobserved') unseen = true;
    else if (interval.state !== 'nonscheduled') {
      if (current) [current.cut, current.open] = [current.cut || unseen, false];
      [current, unseen] = [null, false];
    }
  }
  return found;
}

function interruptOf(stretch: Stretch, assistLimitMs: number): Interrupt {
  const { parts, before, cut, open } = stretch;
  const first = parts[0] as StateInterval;
  return {
    chamber: first.chamber,
    from: first.from,
    to: (parts.at(-1) as StateInterval).to,
    kind: kindOf(stretch, assistLimitMs),
    inProduction: first.run !== null || (before?.state === 'productive' && before.to === first.from),
    cut,
    open,
    downMs: lengthOf(parts),
    delayMs: lengthOf(parts.filter(({ downtime }) => DELAY.includes(downtime))),
    reason: first.observed?.reason ?? first.reason,
    run: first.run,
  };
}

/** [IU2] [IU3] */
function kindOf({ parts, cut, open }: Stretch, assistLimitMs: number): Interrupt['kind'] {
  if (parts.every(({ downtime }) => EXTERNAL.includes(downtime))) return 'external';
  const worked = parts.some((part) => WORK.includes(part.downtime) || inService(part));
  const isShort = (parts.at(-1) as StateInterval).to - (parts[0] as StateInterval).from <= assistLimitMs;
  const isSure = (!cut && !open) || parts.some(({ downtime }) => downtime === 'assist');
  return isShort && !worked && isSure ? 'assist' : 'failure';
}

/** The reducer says `repair:` from the moment of maintenance or service mode on. */
const inService = ({ reason, observed }: StateInterval): boolean => (observed?.reason ?? reason).startsWith('repair:');

const lengthOf = (parts: readonly StateInterval[]): number => parts.reduce((sum, { from, to }) => sum + to - from, 0);
