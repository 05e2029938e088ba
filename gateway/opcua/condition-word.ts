/**
 * What one event of a condition says (OPC 10000-9, 5.5 to 5.8), in the words of an alarm's sides. Fields that a server leaves out, or that are
 * null, say nothing: optional states are told only by servers that have them. SuppressedOrShelved counts only for what the three states
 * behind it do not explain, so that a server that tells them apart is never told twice.
 */
import { NodeId } from 'node-opcua';
import type { Variant } from 'node-opcua';
import type { ConditionWord } from '../../src/tag-map.ts';
import type { ConditionMark } from './acknowledge.ts';
import type { ConditionField } from './condition-filter.ts';

/** States of the ShelvedStateMachineType (OPC 10000-9, 5.8.10). */
const TIMED_SHELVED = 2932;
const ONE_SHOT_SHELVED = 2933;

export class ConditionEvent {
  readonly #values: readonly Variant[];
  readonly #fields: readonly ConditionField[];

  /** `fields`: what was asked for, in the order of `values`. */
  constructor(values: readonly Variant[], fields: readonly ConditionField[]) {
    this.#values = values;
    this.#fields = fields;
  }

  /** Undefined where it was not asked for. */
  get(name: ConditionField): unknown {
    return this.#values[this.#fields.indexOf(name)]?.value as unknown;
  }

  /** The number of an event type of the standard, null for any other. */
  get standardType(): number | null {
    const type = this.get('EventType');
    return type instanceof NodeId && type.namespace === 0 && typeof type.value === 'number' ? type.value : null;
  }

  get name(): string | null {
    const name = this.get('ConditionName');
    return typeof name === 'string' ? name : null;
  }

  /** Of an earlier state that still waits for an operator; null for the condition's own. */
  get branch(): string | null {
    const branch = this.get('BranchId');
    return branch instanceof NodeId && !branch.isEmpty() ? branch.toString() : null;
  }

  get mark(): ConditionMark {
    return { conditionId: this.get('ConditionId'), eventId: this.get('EventId') };
  }

  get retain(): boolean {
    return this.get('Retain') === true;
  }

  msOf(name: ConditionField): number {
    const time = this.get(name);
    return time instanceof Date ? time.getTime() : 0;
  }

  flag(name: ConditionField): boolean | undefined {
    const value = this.get(name);
    return typeof value === 'boolean' ? value : undefined;
  }
}

/** `at`: what the end of a shelving is counted from. */
export function conditionWord(event: ConditionEvent, at: number): ConditionWord {
  const parts = {
    shelved: shelvedOf(event, at),
    'by-design': event.flag('SuppressedState.Id'),
    'out-of-service': event.flag('OutOfServiceState.Id'),
  };
  const isExplained = Object.values(parts).some((part) => part !== undefined && part !== false);
  const held = event.flag('SuppressedOrShelved');
  return told({
    // A server may omit ActiveState on its last word about a condition: then retain decides.
    active: event.flag('ActiveState.Id') ?? event.retain,
    acknowledged: event.flag('AckedState.Id'),
    confirmed: event.flag('ConfirmedState.Id'),
    latched: event.flag('LatchedState.Id'),
    ...parts,
    suppressed: held === undefined ? undefined : held && !isExplained,
  });
}

/** False, true until it clears, or the time at which it ends. */
function shelvedOf(event: ConditionEvent, at: number): boolean | number | undefined {
  const state = event.get('ShelvingState.CurrentState.Id');
  if (!(state instanceof NodeId) || state.isEmpty()) return undefined;
  if (state.namespace !== 0 || (state.value !== TIMED_SHELVED && state.value !== ONE_SHOT_SHELVED)) return false;
  const leftMs = event.get('ShelvingState.UnshelveTime');
  const isTimed = state.value === TIMED_SHELVED && typeof leftMs === 'number' && Number.isFinite(leftMs) && leftMs > 0;
  return isTimed && leftMs < LONGEST_MS ? Math.round(at + leftMs) : true;
}

/** Servers write a very large number for shelving without end. */
const LONGEST_MS = 366 * 86_400_000;

const told = (word: { readonly [K in keyof ConditionWord]: ConditionWord[K] | undefined }): ConditionWord =>
  Object.fromEntries(Object.entries(word).filter(([, value]) => value !== undefined));
