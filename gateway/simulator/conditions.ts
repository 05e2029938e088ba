/**
 * Alarms as OPC UA conditions (OPC 10000-9): one OffNormalAlarm per alarm, raised by the chamber's object. The event's Time is the device's
 * clock. When the cause goes, the chamber's own panel acknowledges: the condition is then inactive, acknowledged and no longer retained.
 */
import { type Namespace, NodeId, type UAObject } from 'node-opcua';
import type { SimulatedChamber, SimulatedCondition } from './plant-port.ts';
import type { LastCondition } from './process-image.ts';

type Alarm = ReturnType<Namespace['instantiateOffNormalAlarm']>;
/** The library takes the time of a transition here but leaves it out of its published type; without it a state would date from the real clock. */
type DatedBranch = { setActiveState(active: boolean, when: Transition): void; setAckedState(acked: boolean, when: Transition): void };
type Transition = { readonly transitionTime: Date; readonly effectiveTransitionTime: Date };

export type ConditionNodes = { set(condition: number, last: LastCondition): void };

const REFRESH_BRACKET = ['ns=0;i=2787', 'ns=0;i=2788']; // RefreshStartEventType and RefreshEndEventType, OPC 10000-6 annex A

export function conditionNodes(namespace: Namespace, object: UAObject, chamber: SimulatedChamber): ConditionNodes {
  const alarms = chamber.conditions.map((condition) => alarmNode(namespace, object, { chamber: chamber.id, condition }));
  if (alarms.length > 0) passRefreshBracket(namespace.addressSpace, object);
  return {
    set(index, last) {
      const alarm = alarms[index];
      const condition = chamber.conditions[index];
      if (alarm === undefined || condition === undefined || alarm.currentBranch().getActiveState() === last.active) return;
      announce(alarm, condition, last);
    },
  };
}

/** OPC 10000-9 clause 5.5.7 sends the bracket to every notifier of the subscription; the library raises it at the Server object alone. */
function passRefreshBracket(addressSpace: Namespace['addressSpace'], object: UAObject): void {
  addressSpace.rootFolder.objects.server.on('event', (event) => {
    const type = (event as unknown as { eventType?: { value: unknown } }).eventType?.value;
    if (REFRESH_BRACKET.includes(String(type))) object.emit('event', event);
  });
}

function alarmNode(namespace: Namespace, object: UAObject, of: { chamber: string; condition: SimulatedCondition }): Alarm {
  const alarm = namespace.instantiateOffNormalAlarm({
    browseName: of.condition.name,
    nodeId: `s=${of.chamber}/Conditions/${of.condition.name}`,
    componentOf: object,
    conditionSource: object,
    conditionOf: object,
    conditionName: of.condition.name,
    // OPC 10000-9: null where no variable of the address space is the input or shows the normal state
    inputNode: NodeId.nullNodeId,
    normalState: NodeId.nullNodeId,
    optionals: [],
  });
  alarm.setSourceName(of.chamber);
  const branch = alarm.currentBranch();
  branch.setActiveState(false);
  branch.setAckedState(true);
  branch.setRetain(false);
  branch.setSeverity(of.condition.severity);
  branch.setMessage(of.condition.message);
  return alarm;
}

function announce(alarm: Alarm, condition: SimulatedCondition, last: LastCondition): void {
  const branch: DatedBranch = alarm.currentBranch();
  const sourceTimestamp = new Date(last.sourceAt);
  const transition = { transitionTime: sourceTimestamp, effectiveTransitionTime: sourceTimestamp };
  branch.setActiveState(last.active, transition);
  branch.setAckedState(!last.active, transition);
  alarm.raiseNewCondition({
    message: condition.message,
    severity: condition.severity,
    retain: last.active,
    time: sourceTimestamp,
    receiveTime: new Date(last.at),
  });
}
