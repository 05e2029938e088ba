/** The manager's sheet: one week on one page. Sentences first, then five numbers, then where the hours went, then why. */
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { WeekPage, SeenNumbers } from '../../src/numbers.ts';
import { countText } from '../../src/seen.ts';
import { LEAST_COVERAGE, COUNTING_COVERAGE } from '../../src/utilization.ts';
import { utilizationMarks } from '../../src/week-marks.ts';
import { usualLoads, usualOf, usualUtilization } from '../../src/week-headline.ts';
import { blockHead, column, noneOf, type Stretch } from './block.ts';
import { boundsBar, lineRange, stateBar, weekLine } from './figures.ts';
import { INK } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import type { ReportPlace } from './place.ts';
import { table } from './table.ts';
import {
  alarmsBlock,
  changesBlock,
  driftBlock,
  lossesBlock,
  recipesBlock,
  reliabilityBlock,
  targetsBlock,
  unexplainedBlock,
  weeksBlock,
} from './week-blocks.ts';
import { stateKey } from './state-key.ts';
import { boundsText, date, day, dayTime, hours, meanText, number, percent, shareText, stateWord } from './words.ts';

/** More chambers than this stand on their own sheets only; the front shows those that lost most. */
const FRONT_CHAMBERS = 16;
const GUTTER = 18;
const SENTENCES = 7;

export function weekFront(painter: Painter, sheet: Box, { page, place }: { page: WeekPage; place: ReportPlace }): void {
  let y = sheet.y;
  const at = (): Stretch => ({ x: sheet.x, y, width: sheet.width });
  painter.part('Sect', () => (y += title(painter, at(), page, place)));
  painter.part('Sect', () => (y += sentences(painter, at(), page.headline) + 6));
  painter.part('Sect', () => (y += fiveFigures(painter, at(), page) + 9));
  painter.part('Sect', () => (y += chamberTable(painter, at(), page, place) + 9));
  const bottom = sheet.y + sheet.height - footHeight();
  const width = (sheet.width - GUTTER) / 2;
  const own = { nameOf: place.nameOf, zone: place.zone };
  const lower = { y, width, height: bottom - y };
  column(painter, { x: sheet.x, ...lower }, [
    lossesBlock(painter, page, place.nameOf),
    unexplainedBlock(painter, page, own),
    reliabilityBlock(painter, page.fleet),
    driftBlock(painter, page, own),
  ]);
  column(painter, { x: sheet.x + width + GUTTER, ...lower }, [
    weeksBlock(painter, page, null, 62),
    recipesBlock(painter, page.fleet),
    targetsBlock(painter, page.alarmTargets),
    alarmsBlock(painter, page.fleet, place.nameOf),
    ...(page.changes.length > 0 ? [changesBlock(painter, page, own)] : []),
  ]);
  foot(painter, { x: sheet.x, y: bottom + 4, width: sheet.width }, page, place);
}

function title(painter: Painter, { x, y, width }: Stretch, page: WeekPage, place: ReportPlace): number {
  const name = `Week ${page.week}`;
  const type = { size: 21, weight: 700, tag: 'H1' } as const;
  const taken = painter.width(name, type);
  painter.line(name, { x, y: y + 17, width }, type);
  const span = `${day(page.from, page.zone)} to ${day(page.to - 1, page.zone)} ${date(page.to - 1, page.zone).slice(-4)}, ${page.hours} h`;
  painter.line(span, { x: x + taken + 10, y: y + 17, width: 200 }, { size: 10, ink: INK.soft });
  painter.line(`${place.site}, ${place.hall}`, { x: x + width - 230, y: y + 17, width: 230 }, { size: 10, weight: 600, align: 'right' });
  if (page.complete) return 27;
  const words = `Provisional: the week still runs and is counted to ${dayTime(page.countedTo, page.zone)}.`;
  painter.frame({ x, y: y + 24, width: painter.width(words, { size: 8.5, weight: 600 }) + 10, height: 13 }, INK.ink, 0.9);
  painter.line(words, { x: x + 5, y: y + 33.4, width: width - 10 }, { size: 8.5, weight: 600 });
  return 43;
}

/** The first sentence is the news; the others explain it. */
function sentences(painter: Painter, { x, y, width }: Stretch, headline: readonly string[]): number {
  let at = y;
  headline.slice(0, SENTENCES).forEach((sentence, i) => {
    const type = i === 0 ? { size: 12.5, weight: 600 as const } : { size: 9.4 };
    if (i > 0) painter.line('–', { x, y: at + 9, width: 10 }, { ...type, tag: 'Lbl' });
    at += painter.paragraph(sentence, { x: x + (i > 0 ? 9 : 0), y: at, width: width - (i > 0 ? 9 : 0), height: i === 0 ? 32 : 23 }, type);
    at += i === 0 ? 3 : 0.6;
  });
  return at - y;
}

type Figure = { readonly value: string; readonly words: string };

function fiveFigures(painter: Painter, { x, y, width }: Stretch, page: WeekPage): number {
  const { fleet } = page;
  const [util, up] = [fleet.operationalUtilization, fleet.operationalUptime];
  const loads = page.complete ? usualLoads(page.previous) : null;
  const usual = usualUtilization(page.previous);
  const median = (text: string, weeks: number | undefined): string => (weeks === undefined ? '' : `; median of ${weeks} weeks ${text}`);
  const bounds = (share: typeof util): string =>
    share.value === null && share.low !== null
      ? `; no single value under ${percent(LEAST_COVERAGE)} seen`
      : boundsText(share) && `; ${boundsText(share)}`;
  const shown: Figure[] = [
    {
      value: countText(fleet.loads.completed),
      words: `${fleet.loads.completed === 1 ? 'load' : 'loads'}${page.complete ? '' : ' so far'}${median(`${Math.round(loads?.median ?? 0)}`, loads?.weeks)}`,
    },
    { value: shareText(util), words: `utilization of ${util.base}${bounds(util)}${median(percent(usual?.median ?? null), usual?.weeks)}` },
    { value: shareText(up), words: `uptime of ${up.base}${bounds(up)}` },
    { value: percent(util.coverage), words: `of ${util.base} was observed` },
    {
      value: number(fleet.alarms.per10Min, 2),
      words: `alarms per 10 min, ${countText(fleet.alarms.activations)} in all; ${failureWords(fleet)}`,
    },
  ];
  const parts = [0.8, 1.35, 1.1, 0.85, 1.2];
  const unit = (width - 4 * 12) / parts.reduce((sum, part) => sum + part, 0);
  let left = x;
  shown.forEach(({ value, words }, i) => {
    const own = unit * (parts[i] ?? 1);
    painter.line(value, { x: left, y: y + 21, width: own }, { size: 23, weight: 600, whole: true });
    painter.paragraph(words, { x: left, y: y + 25, width: own, height: 27 }, { size: 7.6, ink: INK.soft, leading: 9 });
    left += own + 12;
  });
  return 52;
}

const failureWords = ({ reliability: r, time }: SeenNumbers): string =>
  r.failures === 0
    ? noneOf(time, 'no failure was seen').toLowerCase().replace('.', '')
    : `${r.mtbfProductive.name} ${meanText(r.mtbfProductive).replace(/ \(.*/, '')}`;

function chamberTable(painter: Painter, { x, y, width }: Stretch, page: WeekPage, place: ReportPlace): number {
  const all = page.chambers;
  const shown = all.length <= FRONT_CHAMBERS ? all : worstFirst(all).slice(0, FRONT_CHAMBERS);
  const range = lineRange(all.flatMap((c) => utilizationMarks(page, c.chamber)));
  const row = shown.length > 13 ? 11 : 12.4;
  const usual = (chamber: string | null): number | null =>
    usualOf(
      page.previous.map(
        (w) =>
          (chamber === null ? w.operationalUtilization : w.byChamber.find((c) => c.chamber === chamber)?.operationalUtilization)?.value,
      ),
    )?.median ?? null;
  const said =
    shown.length < all.length
      ? `${shown.length} of ${all.length}: those with most unscheduled downtime; all on the sheets that follow`
      : `shares of ${page.fleet.operationalUtilization.base}; point: seen, band: bounds, tick: median of the weeks before`;
  let at = y + blockHead(painter, { x, y, width }, 'Equipment time by chamber', said);
  const isPoor = (n: SeenNumbers): boolean => (n.operationalUtilization.coverage ?? 0) < COUNTING_COVERAGE;
  const rows = [...shown, page.fleet];
  at += table<SeenNumbers>(
    painter,
    { x, y: at, width, row, size: 8.4 },
    [
      {
        head: 'chamber',
        width: 70,
        text: (n) => (n.chamber === null ? `Fleet, ${n.chambers}` : place.nameOf(n.chamber)),
        type: (n) => ({ weight: n.chamber === null ? 700 : 600 }),
      },
      {
        head: 'hours of the week by state',
        width: 1,
        figure: (box, n) => painter.figure(barWords(n), () => stateBar(painter, box, n.time)),
      },
      { head: 'loads', width: 24, align: 'right', text: (n) => countText(n.loads.completed) },
      { head: 'utilization', width: 36, align: 'right', text: (n) => shareText(n.operationalUtilization), type: { weight: 700 } },
      { head: '0 to 100 %', width: 74, figure: (box, n) => boundsBar(painter, box, n.operationalUtilization, usual(n.chamber)) },
      {
        head: 'seen',
        width: 27,
        align: 'right',
        text: (n) => percent(n.operationalUtilization.coverage),
        type: (n) => (isPoor(n) ? { weight: 700, ink: INK.act } : { ink: INK.soft }),
      },
      {
        head: 'weeks before',
        width: 60,
        figure: (box, n) => weekLine(painter, box, { marks: utilizationMarks(page, n.chamber), range, named: false }),
      },
    ],
    rows,
  );
  painter.rule(x, at - row, width, { ink: INK.ink, weight: 0.9 });
  at += stateKey(painter, { x, y: at + 3, width }, page.fleet.time) + 3;
  return at - y;
}

const worstFirst = (all: readonly SeenNumbers[]): SeenNumbers[] =>
  [...all].sort((a, b) => b.time['unscheduled-downtime'] - a.time['unscheduled-downtime']);

const barWords = ({ chamber, time }: SeenNumbers): string =>
  `${chamber ?? 'Fleet'}: ${EQUIPMENT_STATES.filter((state) => time[state] > 0)
    .map((state) => `${stateWord(state)} ${hours(time[state])}`)
    .join(', ')}`;

const footHeight = (): number => 30;

function foot(painter: Painter, { x, y, width }: Stretch, page: WeekPage, place: ReportPlace): void {
  painter.rule(x, y, width);
  const rule = page.fleet.operationalUtilization.rule;
  const words =
    `Utilization: ${rule}. Shares are of observed time; bounds are what they may be had unseen time been all or none of it; under ${percent(LEAST_COVERAGE)} ` +
    `seen only bounds are given. Hours of chambers are added, then divided. Calendar: ${place.calendar}; zone ${page.zone}. ` +
    `Definitions of Glowfleet ${place.version}. Generated ${dayTime(page.generatedAt, page.zone)} ${date(page.generatedAt, page.zone).slice(-4)}.`;
  painter.paragraph(words, { x, y: y + 2.5, width, height: 26 }, { size: 6.8, leading: 8.2, ink: INK.soft, mayCut: true });
}
