/** The week on paper: the manager's sheet, and behind it half a sheet for every chamber. */
import { setImmediate } from 'node:timers/promises';
import type { WeekPage } from '../../src/numbers.ts';
import { chamberHalf } from './chamber-half.ts';
import { NO_SAFETY_FUNCTION, type ReportPlace } from './place.ts';
import { Sheets, type Written } from './sheet.ts';
import { weekFront } from './week-front.ts';

const GAP = 22;
const PER_SHEET = 2;

export async function weekPaper(page: WeekPage, place: ReportPlace): Promise<Written> {
  const sheets = new Sheets({
    title: `Week ${page.week}, ${place.site}, ${place.hall}`,
    subject: page.headline[0] ?? 'Equipment time, loads, losses and alarms of one week',
    foot: `${place.site}, ${place.hall}. Week ${page.week}. ${NO_SAFETY_FUNCTION}`,
    at: page.generatedAt,
    size: place.paper,
  });
  weekFront(sheets.painter, sheets.page(), { page, place });
  for (let i = 0; i < page.chambers.length; i += PER_SHEET) {
    // A plant of hundreds of chambers has hundreds of sheets: others get their turn between them.
    await setImmediate();
    const sheet = sheets.page();
    const height = (sheet.height - GAP * (PER_SHEET - 1)) / PER_SHEET;
    page.chambers.slice(i, i + PER_SHEET).forEach((numbers, nth) => {
      const box = { ...sheet, y: sheet.y + nth * (height + GAP), height };
      sheets.painter.part('Sect', () => chamberHalf(sheets.painter, box, { page, place, numbers }));
    });
  }
  return sheets.end();
}
