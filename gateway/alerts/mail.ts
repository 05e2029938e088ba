/**
 * An alert as a mail. Delivered means the server took it (250). Message-ID is made of the delivery's id, the same in every attempt, so a
 * repeat can be told. A line break in a header would let a plant's text write headers of its own (ASVS 5.0 V1.3.11): all text is one line.
 */
import { createHash } from 'node:crypto';
import { createTransport } from 'nodemailer';
import { alertMessage, htmlOf, line, textOf } from './message.ts';
import type { Outcome } from './retry.ts';
import type { Sending } from './webhook.ts';

type MailTarget = { readonly smtp: string; readonly from: string; readonly to: readonly string[]; readonly timeoutMs: number };

export async function sendMail(target: MailTarget, sending: Sending): Promise<Outcome> {
  const { timeoutMs } = target;
  const transport = createTransport({
    url: target.smtp,
    connectionTimeout: timeoutMs,
    greetingTimeout: timeoutMs,
    socketTimeout: timeoutMs,
    dnsTimeout: timeoutMs,
  });
  try {
    await transport.sendMail(mailOf(target, sending));
    return { type: 'delivered' };
  } catch (error) {
    return outcomeOf(error);
  } finally {
    transport.close();
  }
}

function mailOf(target: MailTarget, { alert, delivery, place, now }: Sending) {
  const message = alertMessage(alert, delivery.stage, place);
  return {
    from: { name: 'Glowfleet', address: target.from },
    to: [...target.to],
    subject: line(message.subject),
    text: textOf(message),
    html: htmlOf(message),
    date: new Date(now),
    messageId: messageId(delivery.id, target.from),
    headers: { 'auto-submitted': 'auto-generated' },
    disableFileAccess: true,
    disableUrlAccess: true,
  };
}

/** RFC 5322 3.6.4 wants a restricted alphabet: a digest of the id has it. */
export function messageId(deliveryId: string, from: string): string {
  const digest = createHash('sha256').update(deliveryId).digest('hex').slice(0, 40);
  return `<${digest}@${from.slice(from.lastIndexOf('@') + 1)}>`;
}

/** RFC 5321 4.2.1: 5yz is permanent, 4yz may pass; without an answer nobody knows, so it is tried again. */
function outcomeOf(error: unknown): Outcome {
  const { responseCode, code } = error as { responseCode?: number; code?: string };
  if (responseCode !== undefined && responseCode >= 500) {
    return {
      type: 'refused',
      reason: `The mail server refused with ${responseCode}. Check sender, receivers and sign-in in the site file.`,
    };
  }
  const why = responseCode !== undefined ? `said ${responseCode}` : `could not be reached${code === undefined ? '' : ` (${code})`}`;
  return { type: 'failed', reason: `The mail server ${why}.`, afterMs: null };
}
