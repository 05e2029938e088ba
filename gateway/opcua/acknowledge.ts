/**
 * Acknowledging one condition at its server (OPC 10000-9, 5.7.3), the only thing this gateway ever asks a chamber to do, and only where the site
 * file says so: the Acknowledge method with the EventId of the condition's last event, or of its branch's (OPC 10000-9, 5.5.2), and a comment. A refusal is told with its cure.
 */
import { DataType, NodeId } from 'node-opcua';
import type { ClientSession } from 'node-opcua';
import type { AcknowledgeAnswer } from './link-port.ts';

/** What names a condition and its last state at the server; as they came, unchecked. */
export type ConditionMark = { readonly conditionId: unknown; readonly eventId: unknown };

/** Acknowledge of the AcknowledgeableConditionType. */
const ACKNOWLEDGE = 'i=9111';

export const notHere = (text: string): AcknowledgeAnswer => ({ done: false, text });

export async function acknowledge(
  session: ClientSession,
  mark: ConditionMark | null,
  about: { alarm: string; server: string; comment: string },
): Promise<AcknowledgeAnswer> {
  const { alarm, server, comment } = about;
  if (mark === null)
    return notHere(`${server} has not told the alarm ${alarm} since it was connected. Wait for its next word, then acknowledge again.`);
  const { conditionId, eventId } = mark;
  if (!(conditionId instanceof NodeId) || conditionId.isEmpty() || !(eventId instanceof Uint8Array) || eventId.length === 0)
    return notHere(
      `${server} does not say which condition ${alarm} is, so it cannot be acknowledged from here. Acknowledge it at the chamber.`,
    );
  const { statusCode } = await session.call({
    objectId: conditionId,
    methodId: ACKNOWLEDGE,
    inputArguments: [
      { dataType: DataType.ByteString, value: eventId },
      { dataType: DataType.LocalizedText, value: { text: comment } },
    ],
  });
  return statusCode.isGood()
    ? { done: true, text: `${alarm} is acknowledged at the chamber.` }
    : notHere(refusal(statusCode.name, alarm, server));
}

function refusal(status: string, alarm: string, server: string): string {
  switch (status) {
    case 'BadConditionBranchAlreadyAcked':
      return `${alarm} was acknowledged already, at the chamber or by another person.`;
    case 'BadEventIdUnknown':
      return `${alarm} has changed meanwhile, so the acknowledgement was refused. Look at its state now, then acknowledge again.`;
    case 'BadUserAccessDenied':
      return `${server} does not let this gateway's user acknowledge alarms. Give the user that right at ${server}, or acknowledge at the chamber.`;
    case 'BadConditionDisabled':
      return `${alarm} is disabled at ${server}. Enable it there, or acknowledge at the chamber.`;
    case 'BadMethodInvalid':
    case 'BadNodeIdUnknown':
    case 'BadNotSupported':
    case 'BadServiceUnsupported':
    case 'BadNotImplemented':
      return `${server} does not take acknowledgements of ${alarm} (${status}). Acknowledge it at the chamber.`;
    default:
      return `${server} refused the acknowledgement of ${alarm} (${status}). Acknowledge it at the chamber.`;
  }
}
