import { describe, expect, test } from 'vitest';
import { openPapers, type PaperParts } from '../../gateway/papers.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { PlantChamber } from '../../gateway/plant.ts';
import type { WeekPage } from '../../src/numbers.ts';
import { readPdf, textOf } from '../pdf-text.ts';
import { exampleRunRecord, exampleTrace } from './reports/run-fixture.ts';
import { exampleWeek, FROM } from './reports/week-fixture.ts';
import { exampleLetter } from './wire-examples.ts';

const store = memoryStore();
function papers(change: Partial<PaperParts> = {}) {
  const named = { id: 'PC-01', place: { name: 'Amber one', bay: 'Amber', floor: { column: 1, row: 1 } } } as PlantChamber;
  const answer = exampleRunRecord();
  return openPapers({
    plant: {
      site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
      units: { pressure: 'mTorr', flow: 'sccm' },
      calendar: { zone: 'Europe/Berlin', shifts: [], holidays: [] },
      chambers: [named],
      ids: ['PC-01'],
      chamber: () => named,
    } as unknown as PaperParts['plant'],
    report: { paper: 'letter', weekly: { at: '06:30', routes: [] } },
    version: '0.1.0',
    store,
    week: () => Promise.resolve(exampleWeek({ chambers: 2 })),
    runRecord: () => Promise.resolve(answer),
    trace: () => Promise.resolve(exampleTrace(answer)),
    ...change,
  });
}

describe('papers', () => {
  test("a week's sheets are of the paper that the site file names, with the plant's own names", async () => {
    const pdf = readPdf(Buffer.from(await papers().weekPaper('2026-W47')));
    expect([pdf.pages[0]?.width, pdf.pages[0]?.height]).toEqual([612, 792]);
    expect(textOf(pdf)).toMatch(/^Amber one \| \d+/m);
  });

  test("a run's values are asked for over the run and its gas lines", async () => {
    const asked: unknown[] = [];
    const answer = exampleRunRecord();
    const trace: PaperParts['trace'] = (query) => (asked.push(query), Promise.resolve(exampleTrace(answer)));
    await papers({ trace }).runPaper(answer.run.run);
    expect(asked).toEqual([
      expect.objectContaining({
        chamber: 'PC-07',
        from: answer.run.startedAt,
        to: answer.run.endedAt,
        signals: expect.arrayContaining(['chamber.pressure', 'gas.2.flow']),
      }),
    ]);
  });

  test('sheets are set one at a time, and one that fails holds up nobody', async () => {
    const runRecord = (id: string) => (id === 'x' ? Promise.reject(new Error('no')) : Promise.resolve(exampleRunRecord()));
    const press = papers({ runRecord });
    const broken = { ...exampleWeek({ chambers: 1 }), headline: null as unknown as string[] };
    const bad = papers({ week: () => Promise.resolve(broken) });
    await expect(press.runPaper('x')).rejects.toThrow('no');
    await expect(bad.weekPaper('2026-W47')).rejects.toThrow();
    await expect(bad.runPaper('PC-07')).resolves.toBeInstanceOf(Uint8Array);
    await expect(press.weekPaper('2026-W47')).resolves.toBeInstanceOf(Uint8Array);
  });

  test('a week that was mailed says which of its main numbers facts have changed since', async () => {
    let page: WeekPage = exampleWeek({ chambers: 2 });
    const press = papers({ week: () => Promise.resolve(page) });
    const { figures } = await press.compose('2026-W47', 'http://wall');
    const letter = exampleLetter('2026-W47', { state: 'delivered', nextAt: null, deliveredAt: FROM, figures });
    await store.addLetters([letter]);
    expect(await press.weekMail('2026-W47')).toEqual({ letters: [letter], revised: [] });
    page = { ...page, fleet: { ...page.fleet, loads: { ...page.fleet.loads, completed: 7 } } };
    expect((await press.weekMail('2026-W47')).revised).toEqual([{ name: 'Loads', mailed: expect.stringMatching(/^\d{3}$/), now: '7' }]);
  });

  test('a week nobody mailed has no letter and is not revised', async () => {
    expect(await papers().weekMail('2026-W40')).toEqual({ letters: [], revised: [] });
  });

  test('a week is on record when a fact is older than its end', async () => {
    const fresh = memoryStore();
    const press = papers({ store: fresh });
    expect(await press.isOnRecord('2026-W47')).toBe(false);
    await fresh.append({
      events: [{ kind: 'equipment-state', chamber: 'PC-01', at: FROM + 1, state: 'standby', reason: 'idle', source: 'tag', run: null }],
      snapshots: new Map(),
    });
    expect([await press.isOnRecord('2026-W47'), await press.isOnRecord('2026-W46')]).toEqual([true, false]);
  });
});
