/** The routes of the site file, and one message by one of them. */
import type { Resolve } from './address.ts';
import { sendMail } from './mail.ts';
import type { Outcome } from './retry.ts';
import type { SecretPlace } from './secret.ts';
import type { MailUser } from './smtp.ts';
import type { Sending } from './telling.ts';
import { sendWebhook } from './webhook.ts';

type Common = {
  readonly name: string;
  /** Messages an hour; above it digests. */
  readonly perHour?: number | undefined;
};
export type WebhookRoute = Common & {
  readonly type: 'webhook';
  readonly url: string;
  /** Whether its receiver may stand inside the plant's own network. */
  readonly allowPrivate?: boolean | undefined;
  /** Two while the receiver changes over. Without one the secret of the environment signs, where there is any. */
  readonly secrets?: readonly SecretPlace[] | undefined;
};
export type MailRoute = Common & {
  readonly type: 'mail';
  readonly smtp: string;
  readonly from: string;
  readonly to: readonly string[];
  readonly user?: MailUser | undefined;
};
export type AlertRoute = WebhookRoute | MailRoute;

export type SendParts = {
  /** Where the secret of routes without one stands. */
  readonly secrets: readonly SecretPlace[];
  readonly timeoutMs?: number | undefined;
  readonly resolve?: Resolve | undefined;
};

export const TIMEOUT_MS = 10_000;

export function sendByRoute(route: AlertRoute, sending: Sending, parts: SendParts): Promise<Outcome> {
  const { timeoutMs = TIMEOUT_MS, resolve } = parts;
  switch (route.type) {
    case 'webhook':
      return sendWebhook(
        { url: route.url, allowPrivate: route.allowPrivate ?? false, secrets: route.secrets ?? parts.secrets, timeoutMs, resolve },
        sending,
      );
    case 'mail':
      return sendMail({ smtp: route.smtp, from: route.from, to: route.to, user: route.user, timeoutMs }, sending);
  }
}

/** Where it goes, without what might be a secret: a webhook's path often is one. */
export const placeOf = (route: AlertRoute): string =>
  route.type === 'mail' ? route.to.join(', ') : `${new URL(route.url).protocol}//${new URL(route.url).host}`;
