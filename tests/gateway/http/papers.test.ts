import type { FastifyInstance } from 'fastify';
import { afterEach, describe, expect, it } from 'vitest';
import { buildApp } from '../../../gateway/http/server.ts';
import { weekLines } from '../../../gateway/http/tables-week.ts';
import { exampleRun } from '../wire-examples.ts';
import { exampleWeek } from '../reports/week-fixture.ts';
import { doubleAnswers } from './double-answers.ts';

const open: FastifyInstance[] = [];
afterEach(async () => {
  for (const app of open.splice(0)) await app.close();
});

async function get(url: string) {
  const address = { host: '127.0.0.1', port: 0 };
  const parts = { answers: doubleAnswers(), address, distFolder: '/nowhere', version: '0.1.0', log: () => {} };
  const app = await buildApp(parts, () => new Set(['http://127.0.0.1']));
  open.push(app);
  return app.inject({ url, headers: { host: '127.0.0.1' } });
}

describe('papers over the API', () => {
  it.each([
    ['/api/weeks/2026-W48.pdf', '%PDF-1.7 week', 'glowfleet-week-2026-W48.pdf'],
    [
      `/api/runs/${encodeURIComponent(exampleRun().run)}/record.pdf`,
      '%PDF-1.7 run',
      `glowfleet-run-${exampleRun().run.replaceAll(/[/:]/g, '-')}.pdf`,
    ],
  ])('%s is a PDF that the browser shows and saves under a harmless name', async (url, body, name) => {
    const answer = await get(url);
    expect([answer.statusCode, answer.headers['content-type'], answer.body]).toEqual([200, 'application/pdf', body]);
    expect(answer.headers['content-disposition']).toBe(`inline; filename="${name}"`);
  });

  it.each(['/api/weeks/2026-W54.pdf', '/api/weeks/x.pdf', '/api/runs/PC-99%2Fx/record.pdf'])('%s is a problem in JSON', async (url) => {
    const answer = await get(url);
    expect(answer.statusCode).toBeGreaterThanOrEqual(400);
    expect(answer.json()).toMatchObject({ code: expect.stringMatching(/invalid|not-found/), message: expect.any(String) });
  });
});

describe('the week page in long form', () => {
  const page = exampleWeek();
  const lines = weekLines(page);
  const of = (section: string, chamber = 'fleet') => lines.filter((line) => line.section === section && line.chamber === chamber);

  it('the hours of every chamber and of the fleet sum to the window, to the microhour of each line', () => {
    for (const chamber of ['fleet', ...page.chambers.map((n) => n.chamber ?? '')]) {
      const hours = of('time', chamber).reduce((sum, { value }) => sum + Number(value), 0);
      expect(hours).toBeCloseTo(168 * (chamber === 'fleet' ? 12 : 1), 4);
    }
  });

  it('no share stands without bounds, base and coverage, and one that may not be stated is empty', () => {
    const shares = lines.filter(({ section }) => section === 'share');
    expect(shares.filter(({ low, high, base, coverage }) => [low, high, base, coverage].some((cell) => cell === undefined))).toEqual([]);
    expect(of('share', 'PC-09').find(({ name }) => name === 'operational utilization')).toMatchObject({
      value: null,
      low: expect.any(Number),
    });
  });

  it('counts of a week that nobody observed are empty, not 0', () => {
    const unseen = weekLines(exampleWeek({ coverage: 0, recipes: 0, previous: 0 }));
    const counts = unseen.filter(({ unit, section }) => unit === 'count' && section !== 'alarm target');
    expect(counts.length).toBeGreaterThan(10);
    expect(counts.filter(({ value }) => value === 0)).toEqual([]);
    expect(counts.find(({ name }) => name === 'loads completed')).toMatchObject({ value: null });
  });

  it('counts, hours and means of a chamber that nobody observed are empty, beside what is known of the others', () => {
    const own = weekLines(exampleWeek({ unseen: 2 })).filter(({ chamber }) => chamber === 'PC-03');
    const counted = own.filter(({ section, unit }) => unit === 'count' || section === 'time' || section === 'failures');
    expect(counted.filter(({ value, name }) => value !== null && name !== 'unobserved' && !name.startsWith('from '))).toEqual([]);
    expect(counted.find(({ name }) => name === 'unobserved')).toMatchObject({ value: 168 });
    expect(own.find(({ name }) => name.startsWith('MTBFp'))).toMatchObject({ base: 'nothing was observed' });
  });

  it('mean times come in hours with their bounds and what was divided by how many', () => {
    const figure = of('failures').find(({ name }) => name.startsWith('MTBFp'));
    const { estimate, low, high, count } = page.fleet.reliability.mtbfProductive;
    const hours = (ms: number | null): number | null => (ms === null ? null : Number((ms / 3.6e6).toPrecision(3)));
    expect(figure).toMatchObject({ value: hours(estimate), unit: 'h', low: hours(low), high: hours(high) });
    expect(figure?.base).toContain(` / ${count}, two-sided at 0.9`);
  });

  it('every sentence, target, loss, drift warning, change and earlier week of the page is in it', () => {
    const count = (section: RegExp): number => lines.filter((line) => section.test(line.section)).length;
    expect(lines.filter(({ name }) => name.startsWith('sentence')).map(({ value }) => value)).toEqual(page.headline);
    expect([count(/^alarm target$/), count(/^loss in loads$/), count(/^drift$/), count(/^change$/)]).toEqual([7, 11, 3, 2]);
    expect(new Set(lines.map(({ section }) => section).filter((section) => section.startsWith('week before'))).size).toBe(8);
  });
});
