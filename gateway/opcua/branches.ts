/**
 * The branches of one condition (OPC 10000-9, 5.5.2): earlier states that still wait for an operator, each told by events of its own until it is no
 * longer retained. A branch is named by the time its activation began, as its ActiveState says; without it by its first event's time.
 */
import type { BranchWord } from '../../src/signal.ts';
import type { ConditionEvent } from './condition-word.ts';

const MOST_BRANCHES = 20;

type Branch = { readonly began: number; readonly acknowledged: boolean; readonly confirmed: boolean };

export class Branches {
  readonly #open = new Map<string, Branch>();
  #seen: Set<string> | null = null;

  /** What its event tells, as words for the reading. */
  heard(id: string, event: ConditionEvent): readonly string[] {
    this.#seen?.add(id);
    const before = this.#open.get(id);
    if (before === undefined && (!event.retain || this.#open.size >= MOST_BRANCHES)) return [];
    const began = before?.began ?? (event.msOf('ActiveState.TransitionTime') || event.msOf('Time'));
    const acknowledged = event.flag('AckedState.Id') ?? before?.acknowledged ?? false;
    const confirmed = event.flag('ConfirmedState.Id') ?? before?.confirmed ?? false;
    if (event.retain) this.#open.set(id, { began, acknowledged, confirmed });
    else this.#open.delete(id);
    const words: BranchWord[] = before === undefined ? ['branched'] : [];
    if (acknowledged && before?.acknowledged === false) words.push('acknowledged');
    if (confirmed && before?.confirmed === false) words.push('confirmed');
    if (!event.retain) words.push('branch-ended');
    return words.map((word) => `${began} ${word}`);
  }

  beginRefresh(): void {
    this.#seen = new Set();
  }

  /** Whether the refresh that runs has told one. */
  get wereReplayed(): boolean {
    return this.#seen !== null && this.#seen.size > 0;
  }

  /** A refresh tells every branch that is retained: the others are gone. Some servers tell the conditions alone: then nothing is known of branches. */
  endRefresh(areReplayed: boolean): readonly string[] {
    const seen = this.#seen;
    this.#seen = null;
    if (!areReplayed) return [];
    const gone = [...this.#open].filter(([id]) => seen?.has(id) === false);
    for (const [id] of gone) this.#open.delete(id);
    return gone.map(([, { began }]) => `${began} branch-ended`);
  }
}
