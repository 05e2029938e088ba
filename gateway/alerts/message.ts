/**
 * An alert in words: what an engineer needs to decide whether to get up. Names and alarm texts come from servers and are hostile: one
 * line each, without control or direction-changing characters; HTML is escaped whole.
 */
import type { Alert, AlertAlarms, Delivery } from '../../src/contract.ts';
import { escapedHtml, oneLine } from '../../src/inert-text.ts';

export type Place = {
  readonly site: string;
  readonly hall: string;
  readonly zone: string;
  /** Where people open the page. */
  readonly url: string;
};

export type Message = { readonly subject: string; readonly lines: readonly string[]; readonly link: string };

export const NO_SAFETY_FUNCTION = 'Glowfleet watches and reports. It is no safety function and commands nothing.';
const TEXT_LENGTH = 200;

export function alertMessage(alert: Alert, stage: Delivery['stage'], place: Place): Message {
  const who = whoOf(alert);
  return {
    subject: subjectOf(alert, stage),
    lines: [
      line(alert.headline),
      ...(alert.cure === null || alert.state === 'closed' ? [] : [`What to do: ${line(alert.cure)}`]),
      '',
      `${alert.chamber !== null ? 'Chamber' : alert.position !== null ? 'Operator position' : 'About'}: ${who} (${line(place.site)}, ${line(place.hall)})`,
      `Since: ${clock(alert.startedAt, place.zone)}${alert.closedAt === null ? ', still going on' : `, over at ${clock(alert.closedAt, place.zone)}`}`,
      ...(alert.alarms === null ? [] : counted(alert, alert.alarms, place.zone)),
      `${alert.chamber === null ? 'Chambers' : 'At the same time'}: ${alert.together.map(line).join(', ') || 'no other chamber'}`,
      ...(alert.shares === null ? [] : [`What they share: ${line(alert.shares)}`]),
      ...alert.facts.map(({ label, value }) => `${line(label)}: ${line(value)}`),
      `Acknowledged: ${alert.acknowledgedBy === null ? 'not yet' : `by ${line(alert.acknowledgedBy)}`}`,
      `Rule: ${line(alert.rule)}`,
    ],
    link: alertLink(alert, place),
  };
}

export const whoOf = (alert: Alert): string => line(alert.chamber ?? alert.position ?? severalOf(alert));

const severalOf = ({ kind, together }: Alert): string =>
  together.length > 0 ? `${together.length} chambers` : kind === 'gateway' ? 'gateway' : 'fleet';

/** All that a phone shows in the night: how bad, where, what. The headline's first sentence; of what is over, the one that says so. */
function subjectOf(alert: Alert, stage: Delivery['stage']): string {
  const reason = why(alert, stage);
  const told = line(alert.headline).replace(/^Over: |: over\.(?= )/, (over) => (over.startsWith(':') ? ':' : ''));
  const first = /^.*?(?=\.(?: |$))/u.exec(told)?.[0] ?? told;
  const { alarms } = alert;
  const isMany = alarms !== null && (alert.kind === 'burst' || alert.kind === 'flood') && alert.state === 'open';
  const began = isMany && alarms.firstOut !== null ? `, first ${line(alarms.firstOut.text)}` : '';
  const shared = alert.kind === 'common-cause' && alert.shares !== null ? `, ${line(alert.shares)}` : '';
  return `${reason}${reason === 'Alert' && alert.severity === 'high' ? ', high' : ''}: ${first}${began}${shared}`;
}

/** Why it is told now. */
function why({ state }: Alert, stage: Delivery['stage']): string {
  if (state === 'closed' || stage === 'closed') return 'Over';
  if (stage === 'escalated') return 'Nobody acknowledged';
  return stage.startsWith('repeated-') ? 'Still open' : 'Alert';
}

export const alertLink = (alert: Alert, place: Place): string =>
  `${place.url.replace(/\/+$/, '')}/alerts/${encodeURIComponent(alert.id.toWellFormed())}`;

export const textOf = (message: Message): string => [...message.lines, '', message.link, '', NO_SAFETY_FUNCTION, ''].join('\n');

/** A picture inside the mail, by its Content-ID, with what it shows in words. */
export type Picture = { readonly cid: string; readonly width: number; readonly height: number; readonly words: string };

export function htmlOf(message: Message, picture: Picture | null = null): string {
  const [headline = '', ...lines] = message.lines;
  const rest = lines.map((text) => (text === '' ? '<br>' : `<div>${escapedHtml(text)}</div>`));
  const body = [`<div><b>${escapedHtml(headline)}</b></div>`, ...rest].join('\n');
  const link = escapedHtml(message.link);
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>${escapedHtml(message.subject)}</title><body>
${body}
${picture === null ? '' : pictureHtml(picture)}<p><a href="${link}">${link}</a></p>
<p>${escapedHtml(NO_SAFETY_FUNCTION)}</p>
</body></html>`;
}

function pictureHtml({ cid, width, height, words }: Picture): string {
  const alt = escapedHtml(words);
  return `<p>${alt}<br><img src="cid:${escapedHtml(cid)}" width="${width}" height="${height}" alt="${alt}"></p>\n`;
}

export const line = (text: string): string => oneLine(text, TEXT_LENGTH);

function counted({ kind }: Alert, alarms: AlertAlarms, zone: string): readonly string[] {
  return [
    `How many: ${alarms.count} alarms${alarms.rawCount === alarms.count ? '' : ` (${alarms.rawCount} with chatter)`}, at most ${alarms.peak10Min} in 10 minutes`,
    ...(COUNTED_AGAINST_USUAL.includes(kind) ? [`Usual here: ${usual(alarms)}`] : []),
    `First alarm: ${firstOut(alarms, zone)}`,
    ...(kind === 'common-cause' && isOneAlarm(alarms) ? [] : top(alarms)),
  ];
}

const COUNTED_AGAINST_USUAL: readonly Alert['kind'][] = ['burst', 'flood'];

/** The same alarm once on each chamber: the headline says it already. */
const isOneAlarm = ({ top: most }: AlertAlarms): boolean => most.every(({ code, count }) => count === 1 && code === most[0]?.code);

function usual({ usual: known }: AlertAlarms): string {
  if (known === null) return 'not enough history yet';
  const hours = Math.round(known.observedHours);
  return `${known.per10Min.toFixed(2)} in 10 minutes over ${hours} observed hours; ${known.threshold} or more are told`;
}

function firstOut({ firstOut: first }: AlertAlarms, zone: string): string {
  return first === null ? 'not known' : `${line(first.code)} ${line(first.text)} (${line(first.chamber)}, ${clock(first.at, zone)})`;
}

function top(alarms: AlertAlarms): readonly string[] {
  if (alarms.top.length === 0) return [];
  return ['Most frequent:', ...alarms.top.slice(0, 5).map((t) => `  ${t.count} × ${line(t.code)} ${line(t.text)} (${line(t.chamber)})`)];
}

export function clock(at: number, zone: string): string {
  const words = { timeZone: zone, dateStyle: 'medium', timeStyle: 'short', hourCycle: 'h23' } as const;
  return new Intl.DateTimeFormat('en-GB', words).format(at);
}
