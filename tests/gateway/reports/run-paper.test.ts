import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { runPaper } from '../../../gateway/reports/run-paper.ts';
import { PAPERS } from '../../../gateway/reports/sheet.ts';
import { bandUnit, quantityOf } from '../../../gateway/reports/run-words.ts';
import { runRecordAnswer } from '../../../src/run-answer.ts';
import { linesOf, readPdf, textOf } from '../../pdf-text.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { exampleRunRecord, exampleTrace, type RunWish } from './run-fixture.ts';
import { PLACE } from './week-fixture.ts';

async function written(wish: RunWish = {}, paper: 'a4' | 'letter' = 'a4') {
  const answer = exampleRunRecord(wish);
  return runPaper(answer, { place: { ...PLACE, paper }, trace: exampleTrace(answer) });
}
const sheets = async (wish: RunWish = {}): Promise<string[]> =>
  readPdf((await written(wish)).bytes).pages.map((page) => linesOf(page).join('\n'));

let nth = 0;
const hostile = (name: string): string => `${name} ${HOSTILE_TEXTS[nth++ % HOSTILE_TEXTS.length]}`;
const long = (name: string): string => `${name} Überlanger Name im Winkel der Halle ${'x'.repeat(70)}`;

describe('the record of a run on paper', () => {
  test('the fixture is a record as the API answers it', () => {
    expect(() => runRecordAnswer.parse(exampleRunRecord())).not.toThrow();
  });

  test('the golden words of a fixed run (UPDATE=1 rewrites them)', async () => {
    const file = new URL('../../golden/run-paper.txt', import.meta.url);
    const text = `${textOf(readPdf((await written()).bytes))}\n`;
    if (process.env['UPDATE'] === '1') writeFileSync(file, text);
    expect(text).toBe(readFileSync(file, 'utf8'));
  });

  test('the same record gives the same bytes', async () => {
    const [one, two] = [await written(), await written()];
    expect(one.bytes.equals(two.bytes)).toBe(true);
  });

  const CASES: readonly (readonly [string, RunWish])[] = [
    ['a usual run', {}],
    ['a run within limits', { verdict: 'within-limits', alarms: 0 }],
    ['a run of which nothing is known', { verdict: 'not-enough-data', isKnown: false }],
    ['twelve steps, sixty alarms, long names', { steps: 12, alarms: 60, name: long }],
    ['one step', { steps: 1 }],
    ['names that attack', { name: hostile }],
  ];
  for (const paper of ['a4', 'letter'] as const)
    test.each(CASES)(`two ${paper} sheets, and nothing overflows or leaves them: %s`, async (_name, wish) => {
      const { bytes, pages, overflows } = await written(wish, paper);
      expect([pages, overflows]).toEqual([2, []]);
      const [width, height] = PAPERS[paper];
      const outside = readPdf(bytes).pages.flatMap(({ words }) =>
        words.filter(({ x, y }) => x < 20 || x > width - 20 || y < 8 || y > height - 20),
      );
      expect(outside).toEqual([]);
    });

  test('the verdict is of limits, never of boards', async () => {
    const words = async (verdict: RunWish['verdict']): Promise<string> => (await sheets({ ...(verdict && { verdict }) }))[0] ?? '';
    expect(await words('within-limits')).toMatch(/^Within limits$/m);
    expect(await words('outside-limits')).toMatch(/^Outside limits$/m);
    expect(await words('not-enough-data')).toMatch(/^Not enough data$/m);
    expect(await words('within-limits')).not.toMatch(/pass|good|ok\b/i);
  });

  test('the seal says whether the facts are unchanged, with the whole digest', async () => {
    const { digest } = exampleRunRecord();
    const [sealed, broken] = [(await sheets())[1] ?? '', (await sheets({ intact: false }))[1] ?? ''];
    expect(sealed).toContain('Facts unchanged since the run ended.');
    expect(broken).toContain('CHANGED: the stored facts are not those of which this record was made.');
    for (const text of [sealed, broken]) expect(text.replaceAll(' ', '')).toContain(`SHA-256${digest}`);
  });

  test('what is not known is a dash, with what was seen of it beside', async () => {
    const [front = ''] = await sheets();
    expect(front).toContain('CF4 in all | – | of it seen: 0.09 L');
    const [unknown = ''] = await sheets({ verdict: 'not-enough-data', isKnown: false });
    expect(unknown).toContain('delivered energy | – | of it seen: 278 Wh');
    expect(unknown).toContain('ignition delay | – | call for RF to plasma');
  });

  test('what is left out of a list is counted', async () => {
    const [, back = ''] = await sheets({ steps: 12, alarms: 60 });
    const rows = (pattern: RegExp): number => [...back.matchAll(pattern)].length;
    expect(back).toMatch(/and \d+ more lines; all of them are in the record as data/);
    const left = Number(/and (\d+) more alarms/.exec(back)?.[1]);
    expect(rows(/\d\d:\d\d:\d\d \| Gas 2 flow deviation \| medium/g) + left).toBe(60);
  });

  test('quantities come in the units of the site: 1 sccm is 7.4358e-7 mol/s at 0 °C and 101325 Pa, 1 mTorr is 101325/760000 Pa', async () => {
    const [, back = ''] = await sheets();
    expect(back).toContain('O2 flow | sccm | 1200 | 1200 | 1176 | 1224 | 0 s | 100 %');
    expect(quantityOf('chamber.pressure', [], PLACE.units)).toEqual({ words: 'pressure', unit: 'mTorr' });
    expect(bandUnit('Pa', PLACE.units).text(101_325 / 760)).toBe('1000');
    expect([bandUnit('J', PLACE.units).text(4_431_000), bandUnit('1', PLACE.units).text(0.0061)]).toEqual(['1231', '0.610']);
  });

  test('a run whose values are gone keeps its record', async () => {
    const answer = exampleRunRecord();
    const trace = { ...exampleTrace(answer), signals: [] };
    const { overflows, bytes } = await runPaper(answer, { place: PLACE, trace });
    expect(overflows).toEqual([]);
    expect(textOf(readPdf(bytes))).toContain('No values of this run are kept any more');
  });
});
