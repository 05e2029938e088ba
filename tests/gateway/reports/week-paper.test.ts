import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { causeOf } from '../../../gateway/reports/week-blocks.ts';
import { weekPaper } from '../../../gateway/reports/week-paper.ts';
import { PAPERS } from '../../../gateway/reports/sheet.ts';
import { linesOf, readPdf, textOf } from '../../pdf-text.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { exampleWeek, PLACE, type WeekWish } from './week-fixture.ts';

const written = (wish: WeekWish = {}, paper: 'a4' | 'letter' = 'a4') => weekPaper(exampleWeek(wish), { ...PLACE, paper });
const front = async (wish: WeekWish, paper?: 'a4' | 'letter'): Promise<string> => {
  const [page] = readPdf((await written(wish, paper)).bytes).pages;
  return linesOf(page as NonNullable<typeof page>).join('\n');
};
const LONG = (name: string): string => `${name} Überlanger Name im äußersten Winkel der Halle Žižkov, ${'unteilbar'.repeat(9)}`;

/** Another hostile text with every name. */
function hostile(): (name: string) => string {
  let nth = 0;
  return (name) => `${name} ${HOSTILE_TEXTS[nth++ % HOSTILE_TEXTS.length]}`;
}

describe('the week on paper', () => {
  test('the golden words of a fixed week (UPDATE=1 rewrites them)', async () => {
    const file = new URL('../../golden/week-paper.txt', import.meta.url);
    const text = `${textOf(readPdf((await written()).bytes))}\n`;
    if (process.env['UPDATE'] === '1') writeFileSync(file, text);
    expect(text).toBe(readFileSync(file, 'utf8'));
  });

  test('it is one sheet for the manager and half a sheet for each chamber', async () => {
    const pages = async (chambers: number): Promise<number> => (await written({ chambers })).pages;
    expect([await pages(1), await pages(2), await pages(3), await pages(12)]).toEqual([2, 2, 3, 7]);
  });

  test('the same numbers give the same bytes', async () => {
    const [one, two] = [await written(), await written()];
    expect(one.bytes.equals(two.bytes)).toBe(true);
  });

  const CASES: readonly (readonly [string, WeekWish])[] = [
    ['a usual week', {}],
    ['forty chambers and twelve recipes', { chambers: 40, recipes: 12 }],
    ['long names', { chambers: 16, recipes: 12, name: LONG }],
    ['one chamber', { chambers: 1 }],
    ['a week nobody observed', { coverage: 0, recipes: 0, previous: 0 }],
    ['a running week with a third observed', { coverage: 0.3, complete: false }],
    ['names that attack', { chambers: 12, recipes: 12, name: hostile() }],
  ];
  for (const paper of ['a4', 'letter'] as const)
    test.each(CASES)(`nothing overflows its place or leaves the ${paper} sheet: %s`, async (_name, wish) => {
      const { bytes, overflows } = await written(wish, paper);
      expect(overflows).toEqual([]);
      const [width, height] = PAPERS[paper];
      for (const page of readPdf(bytes).pages) {
        expect([page.width, page.height]).toEqual([width, height]);
        const outside = page.words.filter(({ x, y }) => x < 20 || x > width - 20 || y < 8 || y > height - 20);
        expect(outside).toEqual([]);
      }
    });

  test('a chamber whose stop without a reason is too short for the list of the fleet has it on its own half sheet', async () => {
    const [first, ...sheets] = readPdf((await written()).bytes).pages.map((page) => linesOf(page).join('\n'));
    expect(first).not.toMatch(/PC-06 \|.*RF generator/);
    expect(sheets.join('\n')).toMatch(/PC-06 \| Week[\s\S]*down 0\.5 h without a reason \(RF generator fault\)/);
    expect(sheets[0]).toContain('2 shorter stops without a reason.');
  });

  test('a stop that was tripped and then repaired names its cause once', () => {
    expect(causeOf('RF generator fault (tripped, repair)')).toBe('RF generator fault');
    expect(causeOf('run interrupted (stopped); Pump fault (at 2) (repair)')).toBe('run interrupted, Pump fault (at 2)');
    expect(causeOf('no operator')).toBe('no operator');
  });

  test('a cause as long as alarm texts are is read whole', async () => {
    const [page, cause] = [exampleWeek(), 'Leak suspected, base not reached'];
    const losses = page.losses.map((loss, i) => (i === 1 ? { ...loss, cause } : loss));
    const [first] = readPdf((await weekPaper({ ...page, losses }, { ...PLACE, paper: 'a4' })).bytes).pages;
    expect(linesOf(first as NonNullable<typeof first>).join('\n')).toMatch(/^Leak suspected, base not reached \|/m);
  });

  test('a share of which under 80 % was observed is given as its bounds, never as one percentage', async () => {
    const page = exampleWeek({ coverage: 0.3 });
    expect(page.fleet.operationalUtilization.value).toBeNull();
    const text = await front({ coverage: 0.3 });
    expect(text).toMatch(/\d+–\d+ %\nutilization of operations time; no single\s+value under 80 % seen/);
    expect(text).toMatch(/^PC-01 \| \d+ \| \d+–\d+ % \| 26 %$/m);
  });

  test('what nobody observed is never called absent', async () => {
    const text = await front({ coverage: 0, recipes: 0, previous: 0 });
    expect(text.match(/Nothing was observed\./g)).toHaveLength(5);
    expect(text).not.toMatch(/No alarm|No standby|Every unscheduled stop|no failure|\b0 (failures|assists|floods|in all)/);
    expect(text).toMatch(/^–\nloads/m);
    expect(text).toMatch(/^PC-01 \| – \|/m);
  });

  test('the half sheet of a chamber that nobody observed says so, and shows no zero for what was not counted', async () => {
    const sheets = readPdf((await written({ chambers: 3, unseen: 2 })).bytes).pages.map((page) => linesOf(page).join('\n'));
    const own = sheets.join('\n').split(/PC-03 \| Week/)[1] ?? '';
    expect(own).toMatch(/^ ?2026-W47\n–\nloads\n0–100 %\nutilization of operations time\n0–100 %/);
    expect(own).toMatch(/Productive +\| – \| Standby +\| – .* Unobserved +\| 168 h/);
    expect(own).toContain('nothing was observed; bounds at 90');
    expect(own).not.toMatch(/\b0 (loads|failures|assists|floods|in all)|(?<![\d.])0\.0 h|No alarm|No standby/);
  });

  test('advice is told in whole sentences: as many as fit on the front, all of them on the half sheet', async () => {
    const advice =
      'First part of the pump-down 31.7 s longer (31 %): 133 s, usually 101 s, for 72 runs. Points to pump speed: worn rotary pump, slipping belt or ' +
      'blocked inlet screen. Check the belt, the oil and the inlet screen. Then compare with the neighbour on the same fore line.';
    const page = exampleWeek({ chambers: 2 });
    const told = { ...page, drift: [{ chamber: 'PC-01', text: advice, since: page.from }] };
    const sheets = readPdf((await weekPaper(told, PLACE)).bytes).pages.map((each) => linesOf(each).join(' '));
    const [front = '', half = ''] = sheets.map((text) => text.replaceAll(/\s+/g, ' '));
    expect(front).toContain('blocked inlet screen.');
    expect(front).not.toMatch(/Check the belt/);
    expect(half).toContain('Check the belt, the oil and the inlet screen. Then compare with the neighbour on the same fore line.');
    expect(front + half).not.toContain('…');
  });

  test('what a list leaves out is counted', async () => {
    expect(await front({ chambers: 40, recipes: 12 })).toMatch(
      /16 of 40: those with most unscheduled downtime[\s\S]*and \d+ more recipes, \d+ runs/,
    );
  });

  test('a running week says that it is provisional and to when it is counted', async () => {
    expect(await front({ complete: false })).toContain('Provisional: the week still runs and is counted to Wed 18 Nov 12:00.');
  });

  test('control and direction-changing characters never reach the page, letters the family lacks become a mark', async () => {
    const text = await front({ name: (name) => `${name}\u202Eevil\u0000\u2028 中 Ω` });
    expect(text.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\u202a-\u202e\u2028\u2066-\u2069]/u);
    expect(text).toContain('PC-01evil ¤ ohm');
  });

  test("a hostile title cannot write into the file's own description", async () => {
    const { bytes } = await weekPaper(exampleWeek({ chambers: 1 }), { ...PLACE, site: '</rdf:li><x>&y' });
    expect(readPdf(bytes).title).toBe('Week 2026-W47, /rdf:li x y, Hall 3');
  });

  test('a viewer is told title, language and structure', async () => {
    const { raw, title } = readPdf((await written()).bytes);
    expect(title).toBe('Week 2026-W47, Quellmoor Works, Hall 3');
    const parts = ['/Lang (en-GB)', '/Marked true', '/S /H1', '/S /Table', '/S /TH', '/S /Figure', '<xmp:CreateDate>2026-11-23T05:30:00Z<'];
    expect(parts.filter((part) => !raw.includes(part))).toEqual([]);
  });
});
