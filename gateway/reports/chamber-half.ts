/** A chamber's own half sheet behind the manager's page: its numbers, its hours, what it lost, its recipes, alarms, failures and drift. */
import type { EquipmentState } from '../../src/equipment.ts';
import type { StateTimes, WeekPage, SeenNumbers } from '../../src/numbers.ts';
import { countText } from '../../src/seen.ts';
import { blockHead, column, HEAD_HEIGHT, noneOf, note, ROW, SIZE, SMALL, wholeSentences, type Block, type Stretch } from './block.ts';
import { lengthBar, stateBar } from './figures.ts';
import { INK } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import type { ReportPlace } from './place.ts';
import { stateKey } from './state-key.ts';
import { HEAD, table } from './table.ts';
import { alarmsBlock, causeOf, recipesBlock, reliabilityBlock, weeksBlock } from './week-blocks.ts';
import { boundsText, counted, dayTime, hours, percent, shareText } from './words.ts';

const GUTTER = 18;

export type Half = { readonly page: WeekPage; readonly place: ReportPlace; readonly numbers: SeenNumbers };

export function chamberHalf(painter: Painter, box: Box, { page, place, numbers }: Half): void {
  const chamber = numbers.chamber ?? '';
  let y = box.y + heading(painter, box, { page, place, numbers });
  y += figures(painter, { ...box, y }, numbers) + 5;
  painter.figure(`${chamber}: time by state`, () => stateBar(painter, { x: box.x, y, width: box.width, height: 12 }, numbers.time));
  y += 15 + stateKey(painter, { ...box, y: y + 15 }, numbers.time) + 7;
  const width = (box.width - GUTTER) / 2;
  const lower = { y, width, height: box.y + box.height - y };
  const news = newsOf(page, chamber, place.zone);
  column(painter, { x: box.x, ...lower }, [
    chamberLosses(painter, page, numbers),
    reliabilityBlock(painter, numbers),
    newsLines(painter, news, { time: numbers.time, width }),
  ]);
  column(painter, { x: box.x + width + GUTTER, ...lower }, [
    weeksBlock(painter, page, chamber, 54),
    recipesBlock(painter, numbers, 7),
    alarmsBlock(painter, numbers, null, 6),
  ]);
}

function heading(painter: Painter, { x, y, width }: Stretch, { page, place, numbers }: Half): number {
  const type = { size: 15, weight: 700, tag: 'H1' } as const;
  const name = place.nameOf(numbers.chamber ?? '');
  const taken = painter.line(name, { x, y: y + 12, width: width - 160 }, type);
  if (name !== numbers.chamber) painter.line(numbers.chamber ?? '', { x: x + taken + 8, y: y + 12, width: 90 }, { size: 9, ink: INK.soft });
  painter.line(`Week ${page.week}`, { x: x + width - 150, y: y + 12, width: 150 }, { size: 9, ink: INK.soft, align: 'right' });
  painter.rule(x, y + 16.5, width, { ink: INK.ink, weight: 1.6 });
  return 20;
}

function figures(painter: Painter, { x, y, width }: Stretch, n: SeenNumbers): number {
  const { operationalUtilization: util, operationalUptime: up, loads } = n;
  const between = (share: typeof util): string => (share.value === null || boundsText(share) === '' ? '' : `, bounds ${boundsText(share)}`);
  const others = [
    [loads.aborted, 'aborted'],
    [loads.interrupted, 'interrupted'],
    [loads.notFullyObserved, 'not fully seen'],
    [loads.engineering, 'for engineering'],
  ] as const;
  const also = others.flatMap(([n, words]) => (n === null || n === 0 ? [] : [`${n} ${words}`]));
  const shown = [
    [countText(loads.completed), `${loads.completed === 1 ? 'load' : 'loads'}${also.length === 0 ? '' : `; also ${also.join(', ')}`}`],
    [shareText(util), `utilization of ${util.base}${between(util)}`],
    [shareText(up), `uptime of ${up.base}${between(up)}`],
    [percent(util.coverage), `of ${util.base} was observed`],
  ] as const;
  const own = (width - 3 * 12) / 4;
  shown.forEach(([value, words], i) => {
    const left = x + i * (own + 12);
    painter.line(value, { x: left, y: y + 16, width: own }, { size: 17, weight: 600, whole: true });
    painter.paragraph(words, { x: left, y: y + 19, width: own, height: 18 }, { size: 7.6, ink: INK.soft, leading: 8.8, mayCut: true });
  });
  return 37;
}

type OwnLoss = { readonly cause: string; readonly state: EquipmentState; readonly lostMs: number };

function chamberLosses(painter: Painter, page: WeekPage, numbers: SeenNumbers): Block {
  const own: OwnLoss[] = page.losses
    .flatMap(({ cause, state, chambers }) => {
      const part = chambers.find((c) => c.chamber === numbers.chamber);
      return part ? [{ cause, state, lostMs: part.lostMs }] : [];
    })
    .sort((a, b) => b.lostMs - a.lostMs);
  const [most, whole] = [own[0]?.lostMs ?? 1, Math.max(1, numbers.to - numbers.from)];
  return {
    fixed: HEAD_HEIGHT + HEAD + (own.length === 0 ? ROW : 0),
    row: ROW,
    least: 3,
    wanted: Math.min(8, own.length),
    paint: (at, rows) => {
      const shown = own.length > rows ? rows - 1 : rows;
      let y = at.y + blockHead(painter, at, 'Where hours were lost');
      y += table<OwnLoss>(
        painter,
        { ...at, y, row: ROW, size: SIZE },
        [
          { head: 'cause', width: 0.6, text: (l) => l.cause, type: { weight: 600 } },
          { head: 'hours', width: 36, align: 'right', text: (l) => hours(l.lostMs), type: { weight: 600 } },
          { head: 'of week', width: 28, align: 'right', text: (l) => percent(l.lostMs / whole), type: { ink: INK.soft } },
          {
            head: '',
            width: 0.4,
            figure: (box, l) =>
              lengthBar(painter, { ...box, y: box.y + 0.7, height: box.height - 1.4 }, { part: l.lostMs / most, state: l.state }),
          },
        ],
        own.slice(0, Math.max(0, shown)),
      );
      if (own.length === 0) y += note(painter, { ...at, y }, noneOf(numbers.time, 'No standby and no downtime was seen.'));
      const rest = own.slice(Math.max(0, shown));
      if (rest.length > 0)
        y += note(painter, { ...at, y }, `and ${counted(rest.length, 'more cause')}, ${hours(rest.reduce((sum, l) => sum + l.lostMs, 0))}`);
      return y - at.y;
    },
  };
}

/** Drift first, then what was changed, then stops without a reason. */
function newsOf(page: WeekPage, chamber: string, zone: string): readonly string[] {
  return [
    ...page.drift.filter((d) => d.chamber === chamber).map((d) => `since ${dayTime(d.since, zone)}: ${d.text}`),
    ...page.changes.filter((c) => c.chamber === chamber).map((c) => `${dayTime(c.at, zone)}: ${c.text}`),
    ...unexplainedLines(page, chamber, zone),
  ];
}

function unexplainedLines({ unexplained }: WeekPage, chamber: string, zone: string): readonly string[] {
  const own = unexplained.byChamber.find((one) => one.chamber === chamber);
  if (own === undefined) return [];
  const more = own.stops - own.longest.length;
  return [
    ...own.longest.map((s) => `${dayTime(s.from, zone)}: down ${hours(s.to - s.from)} without a reason (${causeOf(s.reason)}).`),
    ...(more > 0 ? [`${counted(more, 'shorter stop')} without a reason.`] : []),
  ];
}

const NEWS = { size: SMALL + 0.4, leading: 8.4 } as const;
/** Advice is told whole here, where the front has room for its beginning only. */
const MOST_LINES = 6;

function newsLines(painter: Painter, news: readonly string[], { time, width }: { time: StateTimes; width: number }): Block {
  const lines = Math.min(MOST_LINES, Math.max(1, ...news.map((text) => painter.wrap(text, width, NEWS).length)));
  return {
    fixed: HEAD_HEIGHT + (news.length === 0 ? ROW : 0),
    row: lines * NEWS.leading + 1.4,
    least: Math.min(1, news.length),
    wanted: Math.min(4, news.length),
    paint: (at, rows) => {
      const left = news.length - rows;
      let y = at.y + blockHead(painter, at, 'Drift, changes, longest unexplained stops', left > 0 ? `${rows} of ${news.length}` : '');
      if (news.length === 0) y += note(painter, { ...at, y }, noneOf(time, 'None on record.'));
      for (const text of news.slice(0, rows)) {
        const whole = wholeSentences(painter, text, { width: at.width, lines }, NEWS);
        y += painter.paragraph(whole, { ...at, y: y + 1, height: lines * NEWS.leading }, { ...NEWS, mayCut: true }) + 1.2;
        painter.rule(at.x, y - 0.4, at.width);
      }
      return y - at.y;
    },
  };
}
