/**
 * What becomes of a delivery after one attempt. Retries are exponential with full jitter between 5 s and 15 min, for 24 h; then, or at
 * a refusal that no retry can change, it is dead: kept, shown, counted. Delivered means the receiver said so.
 */
import type { Delivery } from '../../src/contract.ts';
import { oneLine } from '../../src/inert-text.ts';

/** What any message on its way has, whatever it tells. */
type Underway = Pick<Delivery, 'state' | 'attempts' | 'nextAt' | 'deliveredAt' | 'lastError'>;

export type Outcome =
  | { readonly type: 'delivered' }
  /** `afterMs`: the receiver said when to come again. */
  | { readonly type: 'failed'; readonly reason: string; readonly afterMs: number | null }
  | { readonly type: 'refused'; readonly reason: string };

export type Moment = {
  /** Plant time now. */
  readonly now: number;
  /** Plant time per real time: waiting is done in real time. */
  readonly speed: number;
  /** Real milliseconds since the message came to be. */
  readonly ageMs: number;
  /** 0..1 */
  readonly random: number;
  /** Real milliseconds after which nobody wants it any more; 24 h for an alert. */
  readonly giveUpMs?: number;
};

export const FIRST_RETRY_MS = 5_000;
export const LAST_RETRY_MS = 15 * 60_000;
export const GIVE_UP_MS = 24 * 3_600_000;
const REASON_LENGTH = 300;

export function afterAttempt<Message extends Underway>(delivery: Message, outcome: Outcome, moment: Moment): Message {
  const giveUpMs = moment.giveUpMs ?? GIVE_UP_MS;
  const tried = { ...delivery, attempts: delivery.attempts + 1 };
  switch (outcome.type) {
    case 'delivered':
      return { ...tried, state: 'delivered', nextAt: null, deliveredAt: moment.now, lastError: null };
    case 'refused':
      return { ...tried, state: 'dead', nextAt: null, lastError: plain(outcome.reason) };
    case 'failed':
      if (moment.ageMs >= giveUpMs)
        return {
          ...tried,
          state: 'dead',
          nextAt: null,
          // A test is tried once: nothing is given up.
          lastError: plain(giveUpMs > 0 ? `${outcome.reason} Given up after ${Math.round(giveUpMs / 3_600_000)} hours.` : outcome.reason),
        };
      return {
        ...tried,
        nextAt: moment.now + Math.round(waitMs(tried.attempts, outcome.afterMs, moment.random) * moment.speed),
        lastError: plain(outcome.reason),
      };
  }
}

/** The receiver's own wish is honoured within the same bounds: nobody may keep a message back for days, nor be asked without pause. */
export function waitMs(attempts: number, afterMs: number | null, random: number): number {
  if (afterMs !== null) return clamp(afterMs);
  const ceiling = Math.min(LAST_RETRY_MS, FIRST_RETRY_MS * 2 ** Math.min(attempts, 20));
  return clamp(ceiling * random);
}

const clamp = (ms: number): number => Math.min(LAST_RETRY_MS, Math.max(FIRST_RETRY_MS, ms));

/** What a receiver says is foreign text. */
const plain = (text: string): string => oneLine(text, REASON_LENGTH);
