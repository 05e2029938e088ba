/**
 * Alarm conditions as a controller has them that follows OPC 10000-9 in full: optional states, shelving with an end, latching, branches, confirmation. Added to
 * a fixture server before it listens.
 */
import { DataType, StatusCodes } from 'node-opcua';
import type { BaseNode, ConditionSnapshot, Namespace, OPCUAServer, StatusCode, UAObject, VariantOptions } from 'node-opcua';
import { NAMESPACE } from './fixture-server.ts';

type EventFields = {
  readonly conditionName?: { readonly value: unknown };
  _createValue(path: string, node: BaseNode, value: VariantOptions): void;
};
type Alarm = ReturnType<Namespace['instantiateOffNormalAlarm']>;
const STATES = [
  'ConfirmedState',
  'Confirm',
  'SuppressedState',
  'OutOfServiceState',
  'ShelvingState',
  'ShelvingState.UnshelveTime',
  'LatchedState',
];

export class FullAlarm {
  readonly #name: string;
  #alarm: Alarm | null = null;
  #unshelveMs = 0;

  constructor(name: string) {
    this.#name = name;
  }

  readonly prepare = (server: OPCUAServer): void => {
    const space = server.engine.addressSpace!;
    const namespace = space.getNamespace(NAMESPACE) as Namespace;
    const chamber = space.findNode(`ns=${namespace.index};s=Chamber`) as UAObject;
    const input = namespace.addVariable({ browseName: `${this.#name}.in`, componentOf: chamber, dataType: 'Boolean' });
    input.setValueFromSource({ dataType: DataType.Boolean, value: false });
    const about = { componentOf: chamber, conditionSource: chamber, inputNode: input, normalState: input };
    this.#alarm = namespace.instantiateOffNormalAlarm({ ...about, browseName: this.#name, conditionName: this.#name, optionals: STATES });
    this.#alarm.shelvingState!.setState('Unshelved');
    // The library leaves the shelving state machine out of its events.
    chamber.on('event', (event) => this.#addShelving(event as unknown as EventFields));
  };

  get alarm(): Alarm {
    if (this.#alarm === null) throw new Error('not prepared');
    return this.#alarm;
  }

  #addShelving(event: EventFields): void {
    if (event.conditionName?.value !== this.#name) return;
    const { currentState, unshelveTime } = this.alarm.shelvingState!;
    event._createValue('ShelvingState.CurrentState.Id', currentState.id, currentState.id.readValue().value);
    event._createValue('ShelvingState.UnshelveTime', unshelveTime, { dataType: DataType.Double, value: this.#unshelveMs });
  }

  /** Clears, or comes anew and is to be acknowledged and confirmed anew. */
  turn(active: boolean, at?: Date): void {
    const { alarm } = this;
    const trunk = alarm.currentBranch();
    alarm.activeState.setValue(active);
    if (active) trunk.setAckedState(false);
    if (active) trunk.setConfirmedState(false);
    this.tell(active ? 'on' : 'off', active || !trunk.getAckedState(), at);
  }

  /** Held, or reset; told at once, and retained while it holds (OPC 10000-9, 3.1.12). */
  latch(holds: boolean): void {
    this.alarm.latchedState!.id.setValueFromSource({ dataType: DataType.Boolean, value: holds });
    this.tell(holds ? 'latched' : 'reset', holds);
  }

  tell(message: string, retain = true, at = new Date()): void {
    this.alarm.currentBranch().setTime(at);
    this.alarm.raiseNewCondition({ message, severity: 600, retain, quality: StatusCodes.Good });
  }

  acknowledge(): void {
    this.alarm.currentBranch().setAckedState(true);
    this.tell('acknowledged');
  }

  confirm(): void {
    this.alarm.currentBranch().setConfirmedState(true);
    this.tell('confirmed');
  }

  set(state: 'suppressedState' | 'outOfServiceState', holds: boolean): void {
    this.alarm[state]?.id.setValueFromSource({ dataType: DataType.Boolean, value: holds });
    if (state === 'suppressedState') this.alarm.suppressedOrShelved.setValueFromSource({ dataType: DataType.Boolean, value: holds });
    this.tell(state);
  }

  /** As its methods do it: one-shot, timed, or not at all. */
  shelve(state: 'Unshelved' | 'TimedShelved' | 'OneShotShelved', unshelveMs = 0): void {
    this.alarm.shelvingState!.setState(state);
    this.#unshelveMs = unshelveMs;
    this.tell(state);
  }

  /** From now on it answers an Acknowledge so. */
  refuseAcknowledge(statusCode: StatusCode): void {
    this.alarm.acknowledge.bindMethod((_inputs, _context, answer) => answer(null, { statusCode }));
  }

  /** The state it is in now stays as a branch that waits for its own acknowledgement. */
  branch(): ConditionSnapshot {
    const branch = this.alarm.createBranch();
    branch.setRetain(true);
    this.alarm.raiseNewBranchState(branch);
    return branch;
  }

  acknowledgeBranch(branch: ConditionSnapshot): void {
    branch.setAckedState(true);
    branch.setRetain(false);
    this.alarm.raiseNewBranchState(branch);
  }
}
