/**
 * The summary of a week as a mail: its sentences and main numbers, with the sheets attached. Plant names and alarm texts are hostile: one line
 * each, HTML escaped whole.
 */
import { escapedHtml } from '../../src/inert-text.ts';
import type { WeekPage } from '../../src/numbers.ts';
import { countText, seenMs } from '../../src/seen.ts';
import { observedMs } from '../../src/utilization.ts';
import { NO_SAFETY_FUNCTION, type ReportPlace } from './place.ts';
import { inert } from './type-face.ts';
import { boundsText, date, day, hours, meanText, MISSING, percent, shareText } from './words.ts';

export type Figure = { readonly name: string; readonly text: string };
export type WeekLetterText = { readonly subject: string; readonly text: string; readonly html: string; readonly figures: Figure[] };

/** What is compared when facts of the week come in after it was mailed. */
export function mainFigures(page: WeekPage): Figure[] {
  const { fleet, losses, unexplained } = page;
  const util = fleet.operationalUtilization;
  const largest = losses.find((loss) => loss.state !== 'unobserved');
  const bounds = boundsText(util);
  const { failures, mtbfProductive: mtbf } = fleet.reliability;
  const seen = (text: string): string => (observedMs(fleet.time) === 0 ? MISSING : text);
  return [
    { name: 'Loads', text: countText(fleet.loads.completed) },
    { name: `Utilization of ${util.base}`, text: `${shareText(util)}${util.value === null || bounds === '' ? '' : `, bounds ${bounds}`}` },
    { name: 'Observed', text: `${percent(util.coverage)} of ${util.base}` },
    { name: 'Unscheduled downtime', text: hours(seenMs('unscheduled-downtime', fleet.time)) },
    { name: 'Of it without a reason', text: hours(unexplained.lostMs) },
    {
      name: 'Failures',
      text: seen(
        `${failures}, ${mtbf.name} ${meanText(mtbf)}${mtbf.count < (failures ?? 0) ? ` from the ${mtbf.count} in productive time` : ''}`,
      ),
    },
    { name: 'Largest loss', text: largest ? `${inert(largest.cause)}, ${hours(largest.lostMs)}` : seen('none seen') },
    { name: 'Alarms', text: countText(fleet.alarms.activations) },
    { name: 'Drift warnings', text: seen(`${page.drift.length}`) },
  ].map(({ name, text }) => ({ name, text: text.replaceAll('\u00a0', ' ') }));
}

export type Changed = { readonly name: string; readonly mailed: string; readonly now: string };

export function changedFigures(mailed: readonly Figure[], now: readonly Figure[]): Changed[] {
  return now.flatMap(({ name, text }) => {
    const before = mailed.find((figure) => figure.name === name)?.text;
    return before === undefined || before === text ? [] : [{ name, mailed: before, now: text }];
  });
}

export function weekLetterText(page: WeekPage, place: ReportPlace, url: string): WeekLetterText {
  const figures = mainFigures(page);
  const link = `${url.replace(/\/+$/, '')}/week/${page.week}`;
  const span = `${day(page.from, page.zone)} to ${day(page.to - 1, page.zone)} ${date(page.to - 1, page.zone).slice(-4)}`;
  const where = inert(`${place.site}, ${place.hall}`);
  const sentences = page.headline.map(inert);
  const note = `${NO_SAFETY_FUNCTION} Shares are of observed time. Definitions, bounds and every chamber: in the attached sheets.`;
  return {
    subject: inert(`Week ${page.week}: ${sentences[0] ?? 'summary'}`).slice(0, 180),
    figures,
    text: [
      `Week ${page.week}, ${span}, ${where}`,
      '',
      ...sentences,
      '',
      ...figures.map(({ name, text }) => `${name}: ${text}`),
      '',
      link,
      '',
      note,
      '',
    ].join('\n'),
    html: html({ title: `Week ${page.week}`, span, where, sentences, figures, link, note }),
  };
}

type Parts = {
  readonly title: string;
  readonly span: string;
  readonly where: string;
  readonly sentences: readonly string[];
  readonly figures: readonly Figure[];
  readonly link: string;
  readonly note: string;
};

/** Styles stand at each element, because mail readers drop style sheets. */
function html({ title, span, where, sentences, figures, link, note }: Parts): string {
  const [first = '', ...others] = sentences.map(escapedHtml);
  const row = ({ name, text }: Figure): string =>
    `<tr><td style="padding:3px 18px 3px 0;color:#5a5249;border-bottom:1px solid #d6cfc0">${escapedHtml(name)}</td>` +
    `<td style="padding:3px 0;font-weight:600;border-bottom:1px solid #d6cfc0">${escapedHtml(text)}</td></tr>`;
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>${escapedHtml(title)}</title>
<body style="margin:0;padding:20px;font:15px/1.45 'Segoe UI',Arial,sans-serif;color:#1f1a17">
<h1 style="margin:0;font-size:22px">${escapedHtml(title)}</h1>
<p style="margin:0 0 14px;color:#5a5249">${escapedHtml(span)}, ${escapedHtml(where)}</p>
<p style="margin:0 0 8px;font-size:17px;font-weight:600">${first}</p>
<ul style="margin:0 0 16px;padding-left:18px">${others.map((text) => `<li>${text}</li>`).join('')}</ul>
<table style="border-collapse:collapse;margin:0 0 16px">${figures.map(row).join('\n')}</table>
<p><a href="${escapedHtml(link)}" style="color:#4b3163">${escapedHtml(link)}</a></p>
<p style="color:#5a5249;font-size:13px">${escapedHtml(note)}</p>
</body></html>`;
}
