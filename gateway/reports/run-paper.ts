/** A run's record on two sheets: what happened, and what it is proved by. The same record gives the same bytes, whenever it is printed. */
import type { Trace } from '../../src/contract.ts';
import type { RunRecordAnswer } from '../../src/run-answer.ts';
import { NO_SAFETY_FUNCTION, type ReportPlace } from './place.ts';
import { runBack } from './run-back.ts';
import { runFront } from './run-front.ts';
import { VERDICT_WORDS } from './run-words.ts';
import { Sheets, type Written } from './sheet.ts';

export function runPaper(
  answer: RunRecordAnswer,
  { place, trace }: { readonly place: ReportPlace; readonly trace: Trace },
): Promise<Written> {
  const { run, verdict } = answer;
  const sheets = new Sheets({
    title: `Run record ${run.run}`,
    subject: `${VERDICT_WORDS[verdict]}. ${run.recipe ?? 'Recipe not told'}`,
    foot: `Run ${run.run}. ${NO_SAFETY_FUNCTION}`,
    at: run.endedAt,
    size: place.paper,
  });
  runFront(sheets.painter, sheets.page(), { answer, place, trace });
  runBack(sheets.painter, sheets.page(), { answer, place, trace });
  return sheets.end();
}
