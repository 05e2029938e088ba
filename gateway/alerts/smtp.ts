/** One mail to one SMTP server. Delivered means that the server took it (250). */
import { createHash } from 'node:crypto';
import { createTransport, type SendMailOptions } from 'nodemailer';
import type { Outcome } from './retry.ts';

export type MailTarget = { readonly smtp: string; readonly from: string; readonly to: readonly string[]; readonly timeoutMs: number };
export type Mail = Pick<SendMailOptions, 'subject' | 'text' | 'html' | 'attachments'> & {
  /** Of the delivery: the same in every attempt. */
  readonly id: string;
  readonly at: number;
};

export async function sendBySmtp(target: MailTarget, { id, at, ...mail }: Mail): Promise<Outcome> {
  const { smtp, from, to, timeoutMs } = target;
  const transport = createTransport({
    url: smtp,
    connectionTimeout: timeoutMs,
    greetingTimeout: timeoutMs,
    socketTimeout: timeoutMs,
    dnsTimeout: timeoutMs,
  });
  try {
    await transport.sendMail({
      ...mail,
      from: { name: 'Glowfleet', address: from },
      to: [...to],
      date: new Date(at),
      messageId: messageId(id, from),
      headers: { 'auto-submitted': 'auto-generated' },
      disableFileAccess: true,
      disableUrlAccess: true,
    });
    return { type: 'delivered' };
  } catch (error) {
    return outcomeOf(error);
  } finally {
    transport.close();
  }
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
