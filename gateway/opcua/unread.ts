/**
 * Which tags a server does not let us read, and why: a namespace it does not have, an item it refused, conditions whose notifier was refused
 * or whose present state it would not replay.
 */
import type { TagNode } from '../../src/tag-map.ts';
import type { Conditions } from './conditions.ts';
import type { Line } from './line.ts';

const NO_NAMESPACE = 'namespace not on this server';

export class Unread {
  /** Why nobody knows which conditions stand; null when they were replayed. */
  refreshFault: string | null = null;
  readonly #nodes: readonly TagNode[];
  readonly #conditions: Conditions;
  /** Reason by tag number. */
  #faults = new Map<number, string>();
  /** Beginnings of the node texts of conditions whose notifier is not there. */
  readonly #missing: string[] = [];

  constructor(nodes: readonly TagNode[], conditions: Conditions) {
    this.#nodes = nodes;
    this.#conditions = conditions;
  }

  get size(): number {
    return this.#faults.size;
  }

  has(tag: number): boolean {
    return this.#faults.has(tag);
  }

  withoutNamespace(tag: number): void {
    this.#faults.set(tag, NO_NAMESPACE);
  }

  notifierWithoutNamespace(node: string): void {
    this.#missing.push(`${node}#`);
  }

  /** Asks every item of the lines how it is. */
  collect(lines: readonly Line[]): ReadonlyMap<number, string> {
    this.#faults = new Map([...this.#faults].filter(([, reason]) => reason === NO_NAMESPACE));
    for (const line of lines) {
      if (line.name === 'events') this.#notifierFaults(line);
      else for (const { tag, reason } of line.faults()) this.#faults.set(tag, reason);
    }
    for (const prefix of this.#missing) this.#markConditions(prefix, NO_NAMESPACE);
    if (this.refreshFault !== null) this.#markConditions('', this.refreshFault);
    return this.#faults;
  }

  /** A refused notifier leaves all its conditions unread. */
  #notifierFaults(line: Line): void {
    for (const { tag, reason } of line.faults()) this.#markConditions(`${this.#conditions.notifiers[tag]}#`, reason);
  }

  #markConditions(prefix: string, reason: string): void {
    this.#nodes.forEach((node, i) => {
      if (node.kind === 'condition' && node.node.startsWith(prefix)) this.#faults.set(i, reason);
    });
  }
}
