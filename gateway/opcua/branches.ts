/**
 * The branches of one condition (OPC 10000-9, 5.5.2): earlier states that still wait for an operator, each told by events of its own until it is no
 * longer retained. A branch is named by the time its activation began, as its ActiveState says; without it by its first event's time.
 */
import type { ConditionMark } from './acknowledge.ts';
import type { BranchWord } from '../../src/signal.ts';
import type { ConditionEvent } from './condition-word.ts';

const MOST_BRANCHES = 20;

type Branch = {
  readonly began: number;
  readonly acknowledged: boolean;
  readonly confirmed: boolean;
  /** By what its last event is named at its server; null while nothing was heard of it in this session. */
  readonly mark: ConditionMark | null;
};

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
    if (event.retain) this.#open.set(id, { began, acknowledged, confirmed, mark: event.mark });
    else this.#open.delete(id);
    const words: BranchWord[] = before === undefined ? ['branched'] : [];
    if (acknowledged && before?.acknowledged === false) words.push('acknowledged');
    if (confirmed && before?.confirmed === false) words.push('confirmed');
    if (!event.retain) words.push('branch-ended');
    return words.map((word) => `${began} ${word}`);
  }

  /**
   * Of the branch that began then and waits for an acknowledgement. One that has it is never asked for again: a server that takes the last event
   * of the node for the condition's own would acknowledge the condition itself by it.
   */
  markOf(began: number): ConditionMark | 'acknowledged' | null {
    const own = [...this.#open.values()].filter((branch) => branch.began === began);
    const waiting = own.find(({ acknowledged }) => !acknowledged);
    return waiting === undefined && own.length > 0 ? 'acknowledged' : (waiting?.mark ?? null);
  }

  /** The session is gone, and with it what names events in it. */
  forgetMarks(): void {
    for (const [id, branch] of this.#open) this.#open.set(id, { ...branch, mark: null });
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
