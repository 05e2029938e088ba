/**
 * What leaves on paper and by mail: the sheets of a week and of a run, the Monday letter, and what became of it. One sheet is set at a time, so
 * that nobody who prints holds up the wall.
 */
import { weekWindow } from '../src/calendar.ts';
import type { SiteFile } from '../src/config.ts';
import type { Trace, WeekMail } from '../src/contract.ts';
import type { WeekPage } from '../src/numbers.ts';
import type { RunRecordAnswer } from '../src/run-answer.ts';
import type { Composed } from './alerts/letters.ts';
import type { PaperAnswers, TraceQuery } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import { calendarWords, type ReportPlace } from './reports/place.ts';
import { tracedSignals } from './reports/run-front.ts';
import { runPaper } from './reports/run-paper.ts';
import { changedFigures, mainFigures, weekLetterText } from './reports/week-letter.ts';
import { weekPaper } from './reports/week-paper.ts';
import type { Store } from './store/store.ts';
import { turns } from './turns.ts';

export type PaperParts = {
  readonly plant: Plant;
  readonly report: SiteFile['reports'];
  readonly version: string;
  readonly store: Pick<Store, 'letters' | 'extent'>;
  readonly week: (week: string) => Promise<WeekPage>;
  readonly runRecord: (id: string) => Promise<RunRecordAnswer>;
  readonly trace: (query: TraceQuery) => Promise<Trace>;
};

export type Papers = PaperAnswers & {
  /** Whether there is any fact from before that week's end. */
  isOnRecord(week: string): Promise<boolean>;
  /** The Monday letter; `url` is where people open the pages. */
  compose(week: string, url: string): Promise<Composed>;
};

/** As many as a printed line can show. */
const TRACE_POINTS = 700;

export function openPapers(parts: PaperParts): Papers {
  const inTurn = turns();
  const weekBytes = async (page: WeekPage): Promise<Buffer> => (await inTurn(() => weekPaper(page, placeOf(parts, page)))).bytes;
  return {
    weekPaper: async (week) => weekBytes(await parts.week(week)),
    runPaper: async (id) => {
      const answer = await parts.runRecord(id);
      const trace = await runTrace(parts, answer);
      return (await inTurn(() => runPaper(answer, { place: placeOf(parts, null), trace }))).bytes;
    },
    weekMail: (week) => weekMail(parts, week),
    isOnRecord: async (week) => {
      const [extent, span] = [await parts.store.extent(), weekWindow(week, parts.plant.site.zone)];
      return extent !== null && span !== null && extent.first < span.to;
    },
    compose: async (week, url) => {
      const page = await parts.week(week);
      const words = weekLetterText(page, placeOf(parts, page), url);
      return { ...words, attachment: { name: `glowfleet-week-${week}.pdf`, bytes: await weekBytes(page) } };
    },
  };
}

function placeOf({ plant, report, version }: PaperParts, page: WeekPage | null): ReportPlace {
  const names = new Map(plant.chambers.map(({ id, place }) => [id, place.name]));
  const { name, hall, zone } = plant.site;
  return {
    site: name,
    hall,
    zone,
    units: plant.units,
    paper: report.paper,
    nameOf: (chamber) => names.get(chamber) ?? chamber,
    version,
    calendar: page === null ? '' : calendarWords(plant.calendar, page),
  };
}

/** A run of which the values are gone keeps its record; its plot then says so. */
async function runTrace({ trace }: PaperParts, { run, gases }: RunRecordAnswer): Promise<Trace> {
  const lines = gases.map((gas) => gas.line);
  return trace({ chamber: run.chamber, signals: tracedSignals(lines), from: run.startedAt, to: run.endedAt, maxPoints: TRACE_POINTS });
}

/** Against the letter that was delivered last: what it said and what is true now. */
async function weekMail({ store, week: pageOf }: PaperParts, week: string): Promise<WeekMail> {
  const letters = await store.letters({ week });
  const last = letters.filter(({ deliveredAt }) => deliveredAt !== null).sort((a, b) => (b.deliveredAt ?? 0) - (a.deliveredAt ?? 0))[0];
  const revised = last?.figures ? changedFigures(last.figures, mainFigures(await pageOf(week))) : [];
  return { letters: [...letters], revised };
}
