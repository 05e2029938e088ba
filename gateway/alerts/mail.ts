/**
 * A message as a mail. Message-ID is made of the delivery's id, the same in every attempt, so a repeat can be told. A line break in a header
 * would let a plant's text write headers of its own (ASVS 5.0 V1.3.11): all text is one line.
 */
import { BAR_WIDTH, BARS_HEIGHT, barsPng } from './bars-png.ts';
import { htmlOf, line, textOf, type Picture } from './message.ts';
import type { Outcome } from './retry.ts';
import { messageId, sendBySmtp, type Mail, type MailTarget } from './smtp.ts';
import { messageOf, type Sending } from './telling.ts';

export async function sendMail(target: MailTarget, sending: Sending): Promise<Outcome> {
  const message = messageOf(sending);
  const { id } = sending.delivery;
  const chart = chartOf(sending, messageId(`${id}|chart`, target.from).slice(1, -1));
  const text = chart === null ? message : { ...message, lines: [...message.lines, chart.picture.words] };
  return sendBySmtp(target, {
    id,
    at: sending.now,
    subject: line(message.subject),
    text: textOf(text),
    html: htmlOf(message, chart?.picture),
    ...(chart === null ? {} : { attachments: chart.attachments }),
  });
}

type Chart = { readonly picture: Picture; readonly attachments: NonNullable<Mail['attachments']> };

/** The alarms of the last hours; nothing where there were none. */
function chartOf({ perHour = [], alerts }: Sending, cid: string): Chart | null {
  if (alerts.length === 0 || !perHour.some((count) => count > 0)) return null;
  const where = alerts.length === 1 ? (alerts[0]?.chamber ?? 'these chambers') : 'these chambers';
  const words = `Alarms of ${line(where)} in each of the last ${perHour.length} hours: ${perHour.join(', ')}.`;
  const picture = { cid, width: perHour.length * BAR_WIDTH, height: BARS_HEIGHT, words };
  return {
    picture,
    attachments: [{ filename: 'alarms.png', content: barsPng(perHour), contentType: 'image/png', cid, contentDisposition: 'inline' }],
  };
}
