/** What became of an alert's messages, in words. */
import type { Delivery } from '../src/contract.ts';
import { count } from './format.ts';

export const isFailing = ({ state, lastError }: Delivery): boolean => state === 'dead' || (state === 'waiting' && lastError !== null);

const STAGES: Readonly<Record<string, string>> = {
  opened: 'when it began',
  closed: 'when it was over',
  escalated: 'escalated',
  test: 'a test',
};

export function stageWords(stage: string): string {
  const known = STAGES[stage];
  if (known !== undefined) return known;
  return stage.startsWith('repeated-') ? `reminder ${stage.slice(9)}` : 'with others in one message';
}

/** `when` says a time as people read it. */
export function sentWords({ state, attempts, nextAt, deliveredAt, lastError }: Delivery, when: (at: number) => string): string {
  const why = lastError === null ? '' : `: ${lastError}`;
  switch (state) {
    case 'delivered':
      return `delivered ${deliveredAt === null ? '' : when(deliveredAt)}${attempts > 1 ? ` at attempt ${attempts}` : ''}`.trimEnd();
    case 'waiting':
      return `${attempts === 0 ? 'waits' : `not delivered after ${count(attempts, 'attempt')}${why}; next`}${nextAt === null ? '' : ` at ${when(nextAt)}`}`;
    case 'gathered':
      return 'leaves with others in one message';
    case 'dead':
      return `given up after ${count(attempts, 'attempt')}${why}`;
    case 'spared':
      return `not sent${why}`;
  }
}
