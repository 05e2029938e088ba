/**
 * An alert as an HTTP POST of JSON. `Idempotency-Key` is the delivery's id, the same in every attempt, so a receiver can tell a repeat.
 * With a secret the request is signed in the manner of the Standard Webhooks specification (webhook-id, webhook-timestamp,
 * webhook-signature = v1,base64 HMAC-SHA256 of "id.timestamp.body").
 * No redirect is followed, the answer's text is never read: a webhook must not become a window into the plant network (ASVS 5.0 V1.3.6).
 */
import { createHmac } from 'node:crypto';
import type { Alert, Delivery } from '../../src/contract.ts';
import { alertLink, alertMessage, NO_SAFETY_FUNCTION, type Place } from './message.ts';
import type { Outcome } from './retry.ts';

type WebhookTarget = { readonly url: string; readonly secret: string | null; readonly timeoutMs: number };
export type Sending = { readonly alert: Alert; readonly delivery: Delivery; readonly place: Place; readonly now: number };

export const BODY_LIMIT_BYTES = 64 * 1024;

export async function sendWebhook(target: WebhookTarget, sending: Sending): Promise<Outcome> {
  const body = webhookBody(sending);
  try {
    const response = await fetch(target.url, {
      method: 'POST',
      redirect: 'manual',
      headers: headersOf(target, sending, body),
      body,
      signal: AbortSignal.timeout(target.timeoutMs),
    });
    await response.body?.cancel();
    return outcomeOf(response.status, response.headers.get('retry-after'), Date.parse(response.headers.get('date') ?? ''));
  } catch (error) {
    return { type: 'failed', reason: reasonOf(error, target.timeoutMs), afterMs: null };
  }
}

/** The whole alert, and the same words a mail would carry. Lists of the alert are short by its own rule; the text is cut, never the JSON. */
export function webhookBody({ alert, delivery, place }: Sending): string {
  const { subject, lines } = alertMessage(alert, delivery.stage, place);
  const whole = {
    delivery: delivery.id,
    stage: delivery.stage,
    site: place.site,
    hall: place.hall,
    subject,
    text: lines.join('\n'),
    link: alertLink(alert, place),
    note: NO_SAFETY_FUNCTION,
  };
  const body = JSON.stringify({ ...whole, alert });
  return Buffer.byteLength(body) <= BODY_LIMIT_BYTES
    ? body
    : JSON.stringify({ ...whole, alert: { ...alert, facts: alert.facts.slice(0, 5), together: alert.together.slice(0, 50) } });
}

function headersOf(target: WebhookTarget, { delivery, now }: Sending, body: string): Record<string, string> {
  const key = headerText(delivery.id);
  const headers = { 'content-type': 'application/json; charset=utf-8', 'idempotency-key': key, 'user-agent': 'glowfleet' };
  if (target.secret === null) return headers;
  const timestamp = String(Math.floor(now / 1000));
  const signature = createHmac('sha256', target.secret).update(`${key}.${timestamp}.${body}`).digest('base64');
  return { ...headers, 'webhook-id': key, 'webhook-timestamp': timestamp, 'webhook-signature': `v1,${signature}` };
}

/** 2xx is delivered; 408, 429 and 5xx may pass; every other answer will be the same tomorrow. */
export function outcomeOf(status: number, retryAfter: string | null, date: number): Outcome {
  if (status >= 200 && status < 300) return { type: 'delivered' };
  const reason = `The webhook answered ${status}.`;
  if (status === 408 || status === 429 || status >= 500) return { type: 'failed', reason, afterMs: retryAfterMs(retryAfter, date) };
  const cure =
    status >= 300 && status < 400
      ? ' Redirects are not followed: put the final address into the site file.'
      : ' Check the address in the site file.';
  return { type: 'refused', reason: reason + cure };
}

/** RFC 9110 10.2.3: seconds, or a date; a date is measured against the answer's own Date, so no two clocks are compared. */
function retryAfterMs(value: string | null, date: number): number | null {
  if (value === null) return null;
  if (/^\d{1,9}$/.test(value.trim())) return Number(value) * 1000;
  const wait = Date.parse(value) - date;
  return Number.isFinite(wait) ? Math.max(0, wait) : null;
}

/** An id is ours, but a chamber's name is in it: visible ASCII only in a header. */
export const headerText = (text: string): string =>
  text.replaceAll(/[^\x21-\x7e]/gu, (character) => encodeURIComponent(character.isWellFormed() ? character : '?'));

function reasonOf(error: unknown, timeoutMs: number): string {
  if (error instanceof Error && error.name === 'TimeoutError') return `The webhook did not answer within ${timeoutMs / 1000} s.`;
  const cause = error instanceof Error && error.cause instanceof Error ? error.cause : error;
  const code = (cause as NodeJS.ErrnoException | null)?.code;
  return `The webhook could not be reached${code === undefined ? '' : ` (${code})`}. Is the receiver running?`;
}
