/**
 * Alarms that a server exposes as conditions (OPC 10000-9): one event item per notifier, and after each (re)connect a ConditionRefresh, which
 * replays what is retained. What a refresh does not mention is inactive (OPC 10000-9, 4.5). Some servers raise the end of a refresh at the
 * Server object alone; then it is taken as over three seconds after it was granted.
 */
import type { ClientSession } from 'node-opcua';
import type { ConditionMark } from './acknowledge.ts';
import type { ConditionWord, TagNode } from '../../src/tag-map.ts';
import { Branches } from './branches.ts';
import { fieldsFor, type FieldChoice } from './condition-filter.ts';
import { ConditionEvent, conditionWord } from './condition-word.ts';
import type { EventStamps } from './event-time.ts';
import type { EventFields } from './line.ts';

export const REFRESH_START = 2787;
export const REFRESH_END = 2788;
const CONDITION_TYPE = 'i=2782';
const CONDITION_REFRESH = 'i=3875';
const UINT32 = 7;
const REFRESH_MS = 3000;

/** Asks for what is retained; the status where that was refused. */
export async function refreshConditions(session: ClientSession, subscriptionId: number): Promise<string | null> {
  const { statusCode } = await session.call({
    objectId: CONDITION_TYPE,
    methodId: CONDITION_REFRESH,
    inputArguments: [{ dataType: UINT32, value: subscriptionId }],
  });
  return statusCode.isNotGood() ? statusCode.name : null;
}

export type TellCondition = (node: TagNode, word: ConditionWord, stamps: EventStamps) => void;

const NO_STAMPS: EventStamps = { deviceMs: 0, serverMs: 0 };

export class Conditions {
  /** Notifier node texts; an item's number is the place in here. */
  readonly notifiers: readonly string[];
  readonly #byNotifier: ReadonlyMap<string, TagNode>[];
  /** What each condition's last word said that a refresh without it ends. */
  readonly #last = new Map<TagNode, Pick<ConditionWord, 'active' | 'latched'>>();
  readonly #branches = new Map<TagNode, Branches>();
  /** By what each condition's last event is named at its server. */
  readonly #marks = new Map<TagNode, ConditionMark>();
  readonly #seen: (Set<TagNode> | null)[];
  readonly #tell: TellCondition;
  #late: NodeJS.Timeout | undefined;

  /** What is asked of this server: less, once it was seen that it does not know all. */
  choice: FieldChoice;

  /** `acknowledges`: what names an event at its server is asked for too. */
  constructor(nodes: readonly TagNode[], tell: TellCondition, acknowledges = false) {
    this.choice = fieldsFor({ acknowledges });
    const byNotifier = new Map<string, Map<string, TagNode>>();
    for (const node of nodes) {
      const cut = node.node.lastIndexOf('#');
      const notifier = node.node.slice(0, cut);
      byNotifier.set(notifier, (byNotifier.get(notifier) ?? new Map<string, TagNode>()).set(node.node.slice(cut + 1), node));
    }
    this.notifiers = [...byNotifier.keys()];
    this.#byNotifier = [...byNotifier.values()];
    this.#seen = this.notifiers.map(() => null);
    this.#tell = tell;
  }

  async refresh(session: ClientSession, subscriptionId: number): Promise<void> {
    this.#seen.forEach((_, item) => this.#beginRefresh(item));
    const refused = await refreshConditions(session, subscriptionId);
    if (refused !== null) throw new Error(`ConditionRefresh: ${refused}`);
    clearTimeout(this.#late);
    this.#late = setTimeout(() => this.#seen.forEach((seen, item) => seen && this.#endRefresh(item)), REFRESH_MS);
  }

  /** The session is gone: what it was replaying is void. */
  forget(): void {
    clearTimeout(this.#late);
    this.#seen.fill(null);
    this.#marks.clear();
    for (const branches of this.#branches.values()) branches.forgetMarks();
  }

  /** Of the condition itself, or of its branch that began at `of`. Null while nothing was heard of it in this session. */
  markOf(node: TagNode, of?: number): ConditionMark | 'acknowledged' | null {
    return (of === undefined ? this.#marks.get(node) : this.#branches.get(node)?.markOf(of)) ?? null;
  }

  /** `receivedAt`: what a remaining time is counted from. */
  event({ item, fields }: EventFields, receivedAt: number): void {
    const event = new ConditionEvent(fields, this.choice.fields);
    if (event.standardType === REFRESH_START) return this.#beginRefresh(item);
    if (event.standardType === REFRESH_END) return this.#endRefresh(item);
    const node = event.name === null ? undefined : this.#byNotifier[item]?.get(event.name);
    if (node === undefined) return;
    const stamps = { deviceMs: event.msOf('Time'), serverMs: event.msOf('ReceiveTime') };
    if (event.branch !== null) return this.#tellBranch(node, this.#branchesOf(node).heard(event.branch, event), stamps);
    const word = conditionWord(event, receivedAt);
    this.#seen[item]?.add(node);
    this.#last.set(node, word);
    this.#marks.set(node, event.mark);
    this.#tell(node, word, stamps);
  }

  #beginRefresh(item: number): void {
    this.#seen[item] = new Set();
    for (const node of this.#byNotifier[item]?.values() ?? []) this.#branches.get(node)?.beginRefresh();
  }

  #endRefresh(item: number): void {
    const seen = this.#seen[item];
    this.#seen[item] = null;
    const branchesToo = [...this.#branches.values()].some(({ wereReplayed }) => wereReplayed);
    for (const node of this.#byNotifier[item]?.values() ?? []) {
      const isRetained = seen?.has(node) === true;
      if (seen !== null) this.#tellBranch(node, this.#branches.get(node)?.endRefresh(branchesToo || !isRetained) ?? [], NO_STAMPS);
      if (!isRetained) this.#tellAtRest(node);
    }
  }

  /** A latched alarm is retained until it is reset (OPC 10000-9, 3.1.12), so what is not retained is not latched either. */
  #tellAtRest(node: TagNode): void {
    const last = this.#last.get(node);
    if (last?.active === false && last.latched !== true) return;
    const rest = last?.latched === true ? { active: false, latched: false } : { active: false };
    this.#last.set(node, rest);
    this.#tell(node, rest, NO_STAMPS);
  }

  #branchesOf(node: TagNode): Branches {
    const known = this.#branches.get(node) ?? new Branches();
    this.#branches.set(node, known);
    return known;
  }

  #tellBranch(node: TagNode, words: readonly string[], stamps: EventStamps): void {
    for (const branch of words) this.#tell(node, { branch }, stamps);
  }
}
