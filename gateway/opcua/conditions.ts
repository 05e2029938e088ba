/**
 * Alarms that a server exposes as conditions (OPC 10000-9): one event item per notifier, and after each (re)connect a ConditionRefresh, which
 * replays what is retained. What a refresh does not mention is inactive (OPC 10000-9, 4.5). Some servers raise the end of a refresh at the
 * Server object alone; then it is taken as over three seconds after it was granted.
 */
import { constructEventFilter, NodeId } from 'node-opcua';
import type { ClientSession, EventFilter, Variant } from 'node-opcua';
import { CONDITION_BITS } from '../../src/tag-map.ts';
import type { TagNode } from '../../src/tag-map.ts';
import type { EventStamps } from './event-time.ts';
import type { EventFields } from './line.ts';

const FIELDS = [
  'EventType',
  'ConditionName',
  'ActiveState.Id',
  'Retain',
  'BranchId',
  'Time',
  'ReceiveTime',
  'SuppressedOrShelved',
  'AckedState.Id',
];
const REFRESH_START = 2787;
const REFRESH_END = 2788;
const CONDITION_TYPE = 'i=2782';
const CONDITION_REFRESH = 'i=3875';
const UINT32 = 7;
const REFRESH_MS = 3000;

export const conditionFilter = (): EventFilter => constructEventFilter(FIELDS);

/** `word` by the bits of tag-map.ts [TM10]. */
export type TellCondition = (node: TagNode, word: number, stamps: EventStamps) => void;

const NO_STAMPS: EventStamps = { deviceMs: 0, serverMs: 0 };
const stampOf = (time: unknown): number => (time instanceof Date ? time.getTime() : 0);

export class Conditions {
  /** Notifier node texts; an item's number is the place in here. */
  readonly notifiers: readonly string[];
  readonly #byNotifier: ReadonlyMap<string, TagNode>[];
  /** The last word told of each condition. */
  readonly #words = new Map<TagNode, number>();
  readonly #seen: (Set<TagNode> | null)[];
  readonly #tell: TellCondition;
  #late: NodeJS.Timeout | undefined;

  constructor(nodes: readonly TagNode[], tell: TellCondition) {
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
    this.#seen.forEach((_, item) => (this.#seen[item] = new Set()));
    const result = await session.call({
      objectId: CONDITION_TYPE,
      methodId: CONDITION_REFRESH,
      inputArguments: [{ dataType: UINT32, value: subscriptionId }],
    });
    if (result.statusCode.isNotGood()) throw new Error(`ConditionRefresh: ${result.statusCode.name}`);
    clearTimeout(this.#late);
    this.#late = setTimeout(() => this.#seen.forEach((seen, item) => seen && this.#endRefresh(item)), REFRESH_MS);
  }

  /** The session is gone: what it was replaying is void. */
  forget(): void {
    clearTimeout(this.#late);
    this.#seen.fill(null);
  }

  event({ item, fields }: EventFields): void {
    const [type, name, activeState, retain, branch, time, received, suppressed, acknowledged] = fields.map(
      (field: Variant) => field.value as unknown,
    );
    const id = type instanceof NodeId && type.namespace === 0 ? type.value : null;
    if (id === REFRESH_START) this.#seen[item] = new Set();
    else if (id === REFRESH_END) this.#endRefresh(item);
    else if (typeof name === 'string' && isTrunk(branch)) {
      const node = this.#byNotifier[item]?.get(name);
      // A server may omit ActiveState on its last word about a condition: then retain decides.
      const stamps = { deviceMs: stampOf(time), serverMs: stampOf(received) };
      const active = activeState === null ? retain === true : activeState === true;
      if (node) this.#state(item, node, wordOf(active, suppressed === true, acknowledged === true), stamps);
    }
  }

  #state(item: number, node: TagNode, word: number, stamps: EventStamps): void {
    this.#seen[item]?.add(node);
    this.#words.set(node, word);
    this.#tell(node, word, stamps);
  }

  #endRefresh(item: number): void {
    for (const node of this.#byNotifier[item]?.values() ?? []) {
      const known = this.#words.get(node);
      if (this.#seen[item]?.has(node) || (known !== undefined && (known & ACTIVE) === 0)) continue;
      const word = (known ?? 0) & ~ACTIVE;
      this.#words.set(node, word);
      this.#tell(node, word, NO_STAMPS);
    }
    this.#seen[item] = null;
  }
}

const ACTIVE = 1 << CONDITION_BITS.active;
const wordOf = (active: boolean, suppressed: boolean, acknowledged: boolean): number =>
  (Number(active) << CONDITION_BITS.active) |
  (Number(suppressed) << CONDITION_BITS.suppressed) |
  (Number(acknowledged) << CONDITION_BITS.acknowledged);

/** Other branches are earlier states of the same condition that still wait for an operator. */
const isTrunk = (branch: unknown): boolean => !(branch instanceof NodeId) || branch.isEmpty();
