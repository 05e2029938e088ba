/**
 * A message as an HTTP POST of JSON. `Idempotency-Key` is the delivery's id, the same in every attempt, so a receiver can tell a repeat.
 * With a secret the request is signed in the manner of the Standard Webhooks specification (webhook-id, webhook-timestamp,
 * webhook-signature = v1,base64 HMAC-SHA256 of "id.timestamp.body"); two secrets give two signatures, parted by a space. The timestamp is
 * real time, whatever pace the plant has: a receiver may refuse what is old.
 */
import type { Alert } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import type { Resolve } from './address.ts';
import { post } from './http-post.ts';
import { line, NO_SAFETY_FUNCTION } from './message.ts';
import type { Outcome } from './retry.ts';
import { readSecrets, signatures, type SecretPlace } from './secret.ts';
import { messageOf, type Sending } from './telling.ts';

export type WebhookTarget = {
  readonly url: string;
  readonly allowPrivate: boolean;
  /** Where its secrets stand; none sends unsigned. */
  readonly secrets: readonly SecretPlace[];
  readonly timeoutMs: number;
  readonly resolve?: Resolve | undefined;
  /** Real time. */
  readonly wallMs?: () => number;
};

export const BODY_LIMIT_BYTES = 64 * 1024;

export async function sendWebhook(target: WebhookTarget, sending: Sending): Promise<Outcome> {
  const body = webhookBody(sending);
  try {
    const secrets = await readSecrets(target.secrets);
    return await post({ ...target, headers: headersOf({ ...target, secrets }, sending.delivery.id, body), body, whom: 'webhook' });
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return { type: 'failed', reason: `${error.message} Without it nothing is sent.`, afterMs: null };
  }
}

/** The whole alert, or what a digest tells of each, and the same words a mail would carry. The text is cut, never the JSON. */
export function webhookBody(sending: Sending): string {
  const { delivery, place, alerts } = sending;
  const { subject, lines, link } = messageOf(sending);
  const whole = {
    delivery: delivery.id,
    stage: delivery.stage,
    site: place.site,
    hall: place.hall,
    subject,
    text: lines.join('\n'),
    link,
    note: NO_SAFETY_FUNCTION,
  };
  const [alert] = alerts;
  if (alert === undefined) return JSON.stringify({ ...whole, alert: null });
  if (alerts.length > 1) return digestBody({ ...whole, alert: null, alerts: alerts.map(briefOf) }, lines);
  const body = JSON.stringify({ ...whole, alert });
  return fits(body)
    ? body
    : JSON.stringify({ ...whole, alert: { ...alert, facts: alert.facts.slice(0, 5), together: alert.together.slice(0, 50) } });
}

function digestBody<Whole extends { readonly text: string }>(whole: Whole, lines: readonly string[]): string {
  const body = JSON.stringify(whole);
  return fits(body) ? body : JSON.stringify({ ...whole, text: lines[0] });
}

const fits = (body: string): boolean => Buffer.byteLength(body) <= BODY_LIMIT_BYTES;

/** Of one alert in a digest; the whole is in the inbox. */
const briefOf = ({ id, kind, chamber, severity, state, startedAt, closedAt, headline }: Alert) => ({
  ...{ id, kind, chamber, severity, state, startedAt, closedAt },
  headline: line(headline),
});

type Signed = { readonly secrets: readonly string[]; readonly wallMs?: () => number };

/** Of any POST of ours: a message, or a heartbeat. */
export function headersOf({ secrets, wallMs = Date.now }: Signed, id: string, body: string): Record<string, string> {
  const key = headerText(id);
  const headers = { 'content-type': 'application/json; charset=utf-8', 'idempotency-key': key, 'user-agent': 'glowfleet' };
  if (secrets.length === 0) return headers;
  const timestamp = String(Math.floor(wallMs() / 1000));
  const signed = {
    'webhook-id': key,
    'webhook-timestamp': timestamp,
    'webhook-signature': signatures(secrets, `${key}.${timestamp}.${body}`),
  };
  return { ...headers, ...signed };
}

/** An id is ours, but a chamber's name is in it: visible ASCII only in a header. */
export const headerText = (text: string): string =>
  text.replaceAll(/[^\x21-\x7e]/gu, (character) => encodeURIComponent(character.isWellFormed() ? character : '?'));
