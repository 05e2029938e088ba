/**
 * Where a stored past and the first live words meet. A chamber whose stored state reaches beyond the first word of the link, and which the
 * link hears still, was heard all along: it goes on without a hole, and what the link heard up to then is in the state already.
 * Known is judged by when a word was received: a device with a slow clock stamps the newest word as if it were old.
 */
import type { ChamberState } from '../src/chamber-state.ts';
import type { Reading } from '../src/reading.ts';

export class Seam {
  readonly #knownTo = new Map<string, number>();

  /** `waiting`: what the link said before the states were taken up, in order of arrival. */
  close(states: ReadonlyMap<string, ChamberState>, waiting: readonly Reading[]): void {
    const words = Map.groupBy(
      waiting.filter((reading) => reading.signal === 'link.alive'),
      (reading) => reading.chamber,
    );
    for (const [chamber, told] of words) {
      const state = states.get(chamber);
      const first = told.find((word) => word.value === true);
      const isHeard = first !== undefined && state !== undefined && first.at <= state.now && told.at(-1)?.value === true;
      if (isHeard) this.#knownTo.set(chamber, state.now);
    }
  }

  hasClosed(chamber: string): boolean {
    return this.#knownTo.has(chamber);
  }

  isKnown({ chamber, receivedAt }: Reading): boolean {
    const knownTo = this.#knownTo.get(chamber);
    return knownTo !== undefined && receivedAt <= knownTo;
  }
}
