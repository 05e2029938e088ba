/** The lower blocks of the week's sheet, each a list that can be shortened: what is left out is counted, never just gone. */
import type { RecipeTimes, WeekPage, SeenNumbers } from '../../src/numbers.ts';
import type { MeanFigure, TargetLine } from '../../src/kpi.ts';
import { partsText } from '../../src/losses.ts';
import { observedMs } from '../../src/utilization.ts';
import { axisTop, spreadAxisMs, utilizationMarks } from '../../src/week-marks.ts';
import { blockHead, HEAD_HEIGHT, noneOf, note, ROW, SIZE, SMALL, type Block, wholeSentences } from './block.ts';
import { lengthBar, spreadBar, weekLine } from './figures.ts';
import { INK } from './ink.ts';
import type { Painter, Type } from './painter.ts';
import { GAP, HEAD, table } from './table.ts';
import { counted, dayTime, hours, meanText, minutes, MISSING, number, percent } from './words.ts';

type NameOf = (chamber: string) => string;
const GRID = { row: ROW, size: SIZE } as const;

/** The chart takes what height is left, in small steps. */
const CHART = { step: 4, steps: 7 } as const;

export function weeksBlock(painter: Painter, page: WeekPage, chamber: string | null, leastHeight: number): Block {
  const marks = utilizationMarks(page, chamber);
  return {
    fixed: leastHeight,
    row: CHART.step,
    least: 0,
    wanted: CHART.steps,
    paint: (at, steps) => {
      const height = leastHeight + CHART.step * steps;
      const title = chamber === null ? 'Utilization of operations time, fleet' : 'Utilization of operations time';
      const taken = blockHead(painter, at, title, 'by week; band: bounds');
      const alt = `${title} by week: ${marks.map((m) => `${m.week} ${percent(m.value)}`).join(', ')}`;
      const box = { ...at, y: at.y + taken, height: height - taken };
      painter.figure(alt, () => weekLine(painter, box, { marks, range: { low: 0, high: axisTop(marks) }, named: true }));
      return height;
    },
  };
}

type AnyLoss = WeekPage['losses'][number];

/** With its parts where they fit; the page and the table have them always. */
function causeText(painter: Painter, loss: AnyLoss, width: number): string {
  const withParts = [loss.cause, partsText(loss)].filter((text) => text !== '').join(': ');
  return painter.width(withParts, { size: SIZE, weight: 600 }) <= width ? withParts : loss.cause;
}

/** A cause is read whole: a long one in smaller print. */
function causeType(painter: Painter, { cause }: AnyLoss, width: number): Partial<Type> {
  const isLong = painter.width(cause, { size: SIZE, weight: 600 }) > width;
  return { weight: 600, ...(isLong ? { size: SMALL } : {}) };
}

/** What hours, loads and the gaps leave, shared with the bar and the last column. */
const causeWidth = (width: number): number => ((width - 36 - 22 - 4 * GAP) * 0.58) / (0.58 + 0.14 + 0.3);

/** Hours, loads, and what earlier weeks make usual. */
export function lossesBlock(painter: Painter, { losses, fleet }: WeekPage, nameOf: NameOf, wanted = 9): Block {
  const most = Math.max(1, ...losses.map((loss) => loss.lostMs));
  const where = ({ chambers, occurrences, lostMs, usual }: AnyLoss): string => {
    if (usual?.high === 0) return 'usual: none';
    if (usual && (lostMs < usual.low || lostMs > usual.high))
      return `usual: ${hours(usual.low, 0).replace(/\s?h$/u, '')} to ${hours(usual.high, 0)}`;
    const worst = [...chambers].sort((a, b) => b.lostMs - a.lostMs)[0];
    return `${occurrences}×${worst ? `, ${nameOf(worst.chamber)}${chambers.length > 1 ? ` +${chambers.length - 1}` : ''}` : ''}`;
  };
  return {
    fixed: HEAD_HEIGHT + HEAD + (losses.length === 0 ? ROW : 0),
    row: ROW,
    least: 3,
    wanted: Math.min(wanted, losses.length),
    paint: (at, rows) => {
      const shown = losses.length > rows ? rows - 1 : rows;
      let y = at.y + blockHead(painter, at, 'Where hours were lost', 'loads: what the time would have held');
      y += table<AnyLoss>(
        painter,
        { ...at, ...GRID, y },
        [
          {
            head: 'cause',
            width: 0.58,
            text: (l) => causeText(painter, l, causeWidth(at.width)),
            type: (l) => causeType(painter, l, causeWidth(at.width)),
          },
          { head: 'hours', width: 36, align: 'right', text: (l) => hours(l.lostMs), type: { weight: 600 } },
          { head: 'loads', width: 22, align: 'right', text: (l) => (l.loads === null ? MISSING : `${Math.round(l.loads)}`) },
          {
            head: '',
            width: 0.14,
            figure: (box, l) =>
              lengthBar(painter, { ...box, y: box.y + 0.7, height: box.height - 1.4 }, { part: l.lostMs / most, state: l.state }),
          },
          { head: 'times, worst', width: 0.3, text: where, type: { size: SMALL, ink: INK.soft } },
        ],
        losses.slice(0, Math.max(0, shown)),
      );
      if (losses.length === 0) y += note(painter, { ...at, y }, noneOf(fleet.time, 'No standby and no downtime was seen.'));
      const rest = losses.slice(Math.max(0, shown));
      if (rest.length > 0)
        y += note(painter, { ...at, y }, `and ${counted(rest.length, 'more cause')}, ${hours(rest.reduce((sum, l) => sum + l.lostMs, 0))}`);
      return y - at.y;
    },
  };
}

/** On one line, without what was done about it: 'RF fault (tripped, repair)' is an RF fault. */
export const causeOf = (reason: string): string =>
  reason
    .split('; ')
    .map((part) => part.replace(/ \((?:tripped|stopped|repair)(?:, (?:tripped|stopped|repair))*\)$/, ''))
    .join(', ');

export function unexplainedBlock(
  painter: Painter,
  { unexplained, fleet }: WeekPage,
  { nameOf, zone }: { nameOf: NameOf; zone: string },
): Block {
  const { stops, lostMs, share, longest } = unexplained;
  return {
    fixed: HEAD_HEIGHT + ROW,
    row: ROW,
    least: Math.min(1, longest.length),
    wanted: Math.min(4, longest.length),
    paint: (at, rows) => {
      let y = at.y + blockHead(painter, at, 'Unexplained downtime');
      const words =
        stops === null || stops === 0
          ? noneOf(fleet.time, 'Every unscheduled stop that was seen has a reason.')
          : `${counted(stops, 'stop')}, ${hours(lostMs)}${share === null ? '' : `, ${percent(share)} of unscheduled downtime`} without a reason. Longest:`;
      y += note(painter, { ...at, y }, words);
      y += table(
        painter,
        { ...at, ...GRID, y, bare: true },
        [
          { head: '', width: 42, text: (s) => nameOf(s.chamber), type: { weight: 600 } },
          { head: '', width: 66, text: (s) => dayTime(s.from, zone) },
          { head: '', width: 34, align: 'right', text: (s) => hours(s.to - s.from) },
          { head: '', width: 1, text: (s) => causeOf(s.reason), type: { size: SMALL, ink: INK.soft } },
        ],
        longest.slice(0, rows),
      );
      return y - at.y;
    },
  };
}

export function recipesBlock(painter: Painter, { recipes: all, time }: SeenNumbers, wanted = 8): Block {
  const recipes = [...all].sort((a, b) => b.runs - a.runs);
  const axisMs = spreadAxisMs(recipes.map((r) => r.cycleTime));
  return {
    fixed: HEAD_HEIGHT + HEAD + (recipes.length === 0 ? ROW : 0),
    row: ROW,
    least: 2,
    wanted: Math.min(wanted, recipes.length),
    paint: (at, rows) => {
      const shown = recipes.length > rows ? rows - 1 : rows;
      let y = at.y + blockHead(painter, at, 'Times by recipe', 'min, median; cycle with 10 to 90 %');
      y += table<RecipeTimes>(
        painter,
        { ...at, ...GRID, y },
        [
          { head: 'recipe', width: 0.55, text: (r) => r.recipe, type: { weight: 600 } },
          { head: 'runs', width: 22, align: 'right', text: (r) => `${r.runs}` },
          { head: 'process', width: 27, align: 'right', text: (r) => minutes(r.processTime?.p50 ?? null) },
          { head: 'cycle', width: 27, align: 'right', text: (r) => minutes(r.cycleTime?.p50 ?? null), type: { weight: 600 } },
          { head: '', width: 0.42, figure: (box, r) => spreadBar(painter, box, r.cycleTime, axisMs) },
          {
            head: '10 to 90 %',
            width: 46,
            align: 'right',
            text: (r) => (r.cycleTime ? `${minutes(r.cycleTime.p10)} to ${minutes(r.cycleTime.p90)}` : 'no cycle seen'),
            type: { size: SMALL, ink: INK.soft },
          },
        ],
        recipes.slice(0, Math.max(0, shown)),
      );
      if (recipes.length === 0) y += note(painter, { ...at, y }, noneOf(time, 'No run with a recipe was seen to end.'));
      const rest = recipes.slice(Math.max(0, shown));
      if (rest.length > 0)
        y += note(
          painter,
          { ...at, y },
          `and ${counted(rest.length, 'more recipe')}, ${counted(
            rest.reduce((sum, r) => sum + r.runs, 0),
            'run',
          )}`,
        );
      return y - at.y;
    },
  };
}

const VERDICT_RANK: Record<TargetLine['verdict'], number> = {
  'above manageable': 0,
  'above target': 1,
  'not known': 2,
  'within target': 3,
};

const VERDICT_WORDS: Record<TargetLine['verdict'], string> = {
  'above manageable': 'far above',
  'above target': 'above',
  'not known': 'not known',
  'within target': 'within',
};
const verdictType = ({ verdict }: TargetLine): Partial<Type> =>
  verdict.startsWith('above') ? { size: SMALL, weight: 700, ink: INK.act } : { size: SMALL, ink: INK.soft };

/** What stands above its target first. */
export function targetsBlock(painter: Painter, lines: readonly TargetLine[]): Block {
  const sorted = [...lines].sort((a, b) => VERDICT_RANK[a.verdict] - VERDICT_RANK[b.verdict]);
  const several = new Set(lines.map((line) => line.position)).size > 1;
  const value = (n: number | null, unit: TargetLine['unit']): string =>
    unit === 'share' ? percent(n) : number(n, unit === 'count' ? 0 : n !== null && n < 10 ? 2 : 0);
  return {
    fixed: HEAD_HEIGHT + HEAD + (lines.length === 0 ? ROW : 0),
    row: ROW,
    least: 2,
    wanted: Math.min(6, lines.length),
    paint: (at, rows) => {
      let y = at.y + blockHead(painter, at, 'Alarms against targets', 'of ISA-18.2, per operator position');
      y += table<TargetLine>(
        painter,
        { ...at, ...GRID, y },
        [
          {
            head: 'measure',
            width: 1,
            text: (l) => (several ? `${l.position}: ${l.name}` : l.name),
            type: { size: several ? 6.5 : SIZE, weight: 600 },
          },
          { head: 'seen', width: 28, align: 'right', text: (l) => value(l.value, l.unit), type: { weight: 600 } },
          {
            head: 'target',
            width: 52,
            align: 'right',
            text: (l) => `${value(l.target, l.unit)}${l.unit.startsWith('per') ? ` ${l.unit}` : ''}`,
            type: { size: SMALL },
          },
          { head: '', width: 34, text: (l) => VERDICT_WORDS[l.verdict], type: verdictType },
        ],
        sorted.slice(0, rows),
      );
      if (lines.length === 0) y += note(painter, { ...at, y }, 'No alarm could be measured against a target.');
      return y - at.y;
    },
  };
}

type WorstAlarm = SeenNumbers['alarms']['worst'][number];

/** No wider than names are, so that alarms keep the room for theirs. */
const nameWidth = (painter: Painter, worst: readonly WorstAlarm[], nameOf: NameOf): number =>
  Math.min(62, Math.max(24, ...worst.map(({ chamber }) => painter.width(nameOf(chamber), { size: SIZE }) + 1)));

/** `nameOf` null: of one chamber, which needs no name. */
export function alarmsBlock(painter: Painter, { alarms, time }: SeenNumbers, nameOf: NameOf | null, wanted = 5): Block {
  const { worst, activations, per10Min, peak10Min, floods } = alarms;
  return {
    fixed: HEAD_HEIGHT + (worst.length === 0 ? ROW : 0),
    row: ROW,
    least: 2,
    wanted: Math.min(wanted, worst.length),
    paint: (at, rows) => {
      const seen = `${activations} in all, ${number(per10Min, 2)} per 10 min, peak ${peak10Min}, ${counted(floods.length, 'flood')}`;
      const said = observedMs(time) === 0 ? '' : seen;
      let y = at.y + blockHead(painter, at, 'Worst alarms', said);
      y += table<WorstAlarm>(
        painter,
        { ...at, ...GRID, y, bare: true },
        [
          { head: '', width: 1, text: (a) => a.text || a.code, type: { weight: 600 } },
          ...(nameOf === null ? [] : [{ head: '', width: nameWidth(painter, worst, nameOf), text: (a: WorstAlarm) => nameOf(a.chamber) }]),
          { head: '', width: 24, align: 'right', text: (a) => `${a.activations}`, type: { weight: 600 } },
          { head: '', width: 24, align: 'right', text: (a) => percent(a.share), type: { ink: INK.soft } },
          { head: '', width: 32, text: (a) => (a.chattering ? 'chatters' : ''), type: { size: SMALL, ink: INK.soft } },
        ],
        worst.slice(0, rows),
      );
      if (worst.length === 0) y += note(painter, { ...at, y }, noneOf(time, 'No alarm was counted.'));
      return y - at.y;
    },
  };
}

/** Mean times with the bounds that their count allows; no failure gives a lower bound and no estimate. */
export function reliabilityBlock(painter: Painter, { reliability: r, time }: SeenNumbers, least = 2): Block {
  const lines: readonly MeanFigure[] = [r.mtbfProductive, r.mttr, r.cyclesBetweenFailures, r.mtbfUptime, r.meanOffline];
  const isSeen = observedMs(time) > 0;
  const from = ({ unit, amount, count }: MeanFigure): string =>
    !isSeen ? MISSING : `${unit === 'ms' ? hours(amount, amount < 36e6 ? 1 : 0) : Math.round(amount)} / ${count}`;
  return {
    fixed: HEAD_HEIGHT + HEAD,
    row: ROW,
    least,
    wanted: lines.length,
    paint: (at, rows) => {
      const confidence = percent(r.mtbfProductive.confidence);
      const events = isSeen ? `${counted(r.failures ?? 0, 'failure')}, ${counted(r.assists ?? 0, 'assist')}` : 'nothing was observed';
      const said = `${events}; bounds at ${confidence} confidence`;
      let y = at.y + blockHead(painter, at, 'Failures and repair', said);
      y += table<MeanFigure>(
        painter,
        { ...at, ...GRID, y },
        [
          { head: '', width: 28, text: (f) => f.name, type: { weight: 600 } },
          // 'In production' is what the productive time before it says.
          { head: '', width: 1, text: (f) => f.words.replace(' in production', ' in it'), type: { size: 6.9, ink: INK.soft } },
          { head: 'mean (bounds)', width: 80, align: 'right', text: meanText, type: { weight: 600 } },
          { head: 'from', width: 38, align: 'right', text: from, type: { size: SMALL, ink: INK.soft } },
        ],
        lines.slice(0, rows),
      );
      return y - at.y;
    },
  };
}

const NEWS = { size: 7.6, leading: 8.4 } as const;
const NEWS_LINES = 3;
const NEWS_ROW = NEWS.leading * NEWS_LINES + 1.4;
const WHO_WIDTH = 38;

/** Who, and one or two sentences. */
function newsBlock(painter: Painter, title: string, news: readonly { readonly who: string; readonly text: string }[], none: string): Block {
  return {
    fixed: HEAD_HEIGHT + (news.length === 0 ? ROW : 0),
    row: NEWS_ROW,
    least: Math.min(1, news.length),
    wanted: Math.min(5, news.length),
    paint: (at, rows) => {
      const left = news.length - rows;
      let y = at.y + blockHead(painter, at, title, left > 0 ? `${rows} of ${news.length}; all on the sheets of the chambers` : '');
      if (news.length === 0) y += note(painter, { ...at, y }, none);
      for (const { who, text } of news.slice(0, rows)) {
        painter.line(who, { x: at.x, y: y + 8.2, width: WHO_WIDTH }, { size: SIZE, weight: 600 });
        const box = { x: at.x + WHO_WIDTH + 5, y: y + 1, width: at.width - WHO_WIDTH - 5, height: NEWS_ROW };
        const whole = wholeSentences(painter, text, { width: box.width, lines: NEWS_LINES }, NEWS);
        y += painter.paragraph(whole, box, { ...NEWS, mayCut: true }) + 1.2;
        painter.rule(at.x, y - 0.4, at.width);
      }
      return y - at.y;
    },
  };
}

export const driftBlock = (painter: Painter, page: WeekPage, { nameOf, zone }: { nameOf: NameOf; zone: string }): Block =>
  newsBlock(
    painter,
    'Drift warnings',
    page.drift.map(({ chamber, text, since }) => ({ who: nameOf(chamber), text: `since ${dayTime(since, zone)}: ${text}` })),
    noneOf(page.fleet.time, 'No measured quantity was seen to leave its usual course.'),
  );

export const changesBlock = (painter: Painter, page: WeekPage, { nameOf, zone }: { nameOf: NameOf; zone: string }): Block =>
  newsBlock(
    painter,
    'Changes of the week',
    page.changes.map(({ chamber, at, text }) => ({
      who: chamber === null ? 'plant' : nameOf(chamber),
      text: `${dayTime(at, zone)}: ${text}`,
    })),
    'No change is on record.',
  );
