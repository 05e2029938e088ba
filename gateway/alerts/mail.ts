/**
 * An alert as a mail. Message-ID is made of the delivery's id, the same in every attempt, so a repeat can be told. A line break in a header
 * would let a plant's text write headers of its own (ASVS 5.0 V1.3.11): all text is one line.
 */
import { alertMessage, htmlOf, line, textOf } from './message.ts';
import type { Outcome } from './retry.ts';
import { sendBySmtp, type MailTarget } from './smtp.ts';
import type { Sending } from './webhook.ts';

export function sendMail(target: MailTarget, { alert, delivery, place, now }: Sending): Promise<Outcome> {
  const message = alertMessage(alert, delivery.stage, place);
  const subject = line(message.subject);
  return sendBySmtp(target, { id: delivery.id, at: now, subject, text: textOf(message), html: htmlOf(message) });
}
