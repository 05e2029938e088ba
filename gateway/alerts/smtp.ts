/** One mail to one SMTP server. Delivered means that the server took it (250). */
import { createHash } from 'node:crypto';
import { createTransport, type SendMailOptions, type Transporter } from 'nodemailer';
import type { Options as SmtpOptions } from 'nodemailer/lib/smtp-transport/index.js';
import { Fault } from '../../src/fault.ts';
import type { Outcome } from './retry.ts';
import { readSecret } from './secret.ts';

/** As whom the mail server is signed in to; the password stands in a file or in the environment. */
export type MailUser = { readonly name: string } & ({ readonly passwordFile: string } | { readonly passwordEnv: string });
export type MailTarget = {
  readonly smtp: string;
  readonly from: string;
  readonly to: readonly string[];
  readonly timeoutMs: number;
  readonly user?: MailUser | undefined;
};
export type Mail = Pick<SendMailOptions, 'subject' | 'text' | 'html' | 'attachments'> & {
  /** Of the delivery: the same in every attempt. */
  readonly id: string;
  readonly at: number;
};

export async function sendBySmtp(target: MailTarget, { id, at, ...mail }: Mail): Promise<Outcome> {
  const { from, to, timeoutMs } = target;
  const timeIsUp = Promise.withResolvers<never>();
  const timer = setTimeout(() => timeIsUp.reject(Object.assign(new Error('time is up'), { code: 'ETIMEDOUT' })), timeoutMs * WHOLE);
  let transport: Transporter | null = null;
  try {
    transport = createTransport(await connectionOf(target));
    const sent = transport.sendMail({
      ...mail,
      from: { name: 'Glowfleet', address: from },
      to: [...to],
      date: new Date(at),
      messageId: messageId(id, from),
      headers: { 'auto-submitted': 'auto-generated' },
      disableFileAccess: true,
      disableUrlAccess: true,
    });
    await Promise.race([sent, timeIsUp.promise]);
    return { type: 'delivered' };
  } catch (error) {
    return outcomeOf(error);
  } finally {
    clearTimeout(timer);
    transport?.close();
  }
}

/** A server that says a little every few seconds is never silent for long: the whole has its limit as well. */
const WHOLE = 3;

async function connectionOf({ smtp, timeoutMs, user }: MailTarget): Promise<SmtpOptions & { url: string }> {
  const limits = { connectionTimeout: timeoutMs, greetingTimeout: timeoutMs, socketTimeout: timeoutMs, dnsTimeout: timeoutMs };
  if (user === undefined) return { url: smtp, ...limits };
  const pass = await readSecret('passwordFile' in user ? { file: user.passwordFile } : { env: user.passwordEnv });
  return { url: smtp, ...limits, auth: { user: user.name, pass } };
}

/** RFC 5322 3.6.4 wants a restricted alphabet: a digest of the id has it. */
export function messageId(deliveryId: string, from: string): string {
  const digest = createHash('sha256').update(deliveryId).digest('hex').slice(0, 40);
  return `<${digest}@${from.slice(from.lastIndexOf('@') + 1)}>`;
}

/** RFC 5321 4.2.1: 5yz is permanent, 4yz may pass; without an answer nobody knows, so it is tried again. */
function outcomeOf(error: unknown): Outcome {
  if (error instanceof Fault) return { type: 'failed', reason: error.message, afterMs: null };
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
