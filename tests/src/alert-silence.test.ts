import { expect, test } from 'vitest';
import { initialWatch, watchBatch } from '../../src/alert-watch.ts';
import { at, CHAMBERS, idle, ran, rulesWith, silent, tick, told } from './watch-fixture.ts';

const RULES = rulesWith({ servers: { 'PC-01': 'amber', 'PC-02': 'amber', 'PC-03': 'birch' } }, ['no-data']);
const run = (inputs: Parameters<typeof ran>[0], rules = RULES) => ran(inputs, rules);

test('[SI1] a chamber unheard for five minutes is told, and over when it is heard', () => {
  expect(run([silent(0), tick(4.9), idle(4.9), tick(60)]).all).toEqual([]);
  const { all } = run([silent(0), tick(5.1), idle(12)]);
  expect(told(all)).toEqual([
    ['no-data', 'PC-01', 5, null],
    ['no-data', 'PC-01', 5, 12],
  ]);
  expect(all[0]).toMatchObject({ headline: 'PC-01: nothing heard for 5 min. Its time is unobserved.', shares: null, together: [] });
  expect(all[1]?.headline).toBe('PC-01: over. Heard again after 12 min.');
});

test('[SI2] chambers that fall silent together are one alert, which names their server', () => {
  const { all, last } = run([silent(0), silent(0.5, 'PC-02'), tick(6), idle(10), idle(11, 'PC-02')]);
  expect(all).toHaveLength(2);
  expect(told(last)).toEqual([['no-data', null, 5, 11]]);
  expect(all[0]).toMatchObject({
    id: 'no-data/amber/2026-11-25T12:05:00.000Z',
    together: ['PC-01', 'PC-02'],
    shares: 'server amber',
    headline: '2 chambers (PC-01, PC-02): nothing heard for 5 min. Their time is unobserved; they share server amber.',
  });
});

test('[SI2] all of them at once are one alert that looks at the gateway’s own network', () => {
  const [all] = run([...CHAMBERS.map((chamber, i) => silent(i / 10, chamber)), tick(6)]).last;
  expect(all).toMatchObject({
    together: CHAMBERS,
    shares: 'the way to all servers',
    cure: expect.stringContaining('gateway’s own') as string,
  });
  expect(all?.headline).toMatch(/^All chambers: nothing heard/);
});

test('[SI2] one that follows minutes later joins the alert of its server, one of another server does not', () => {
  const joins = run([silent(0), tick(6), silent(7, 'PC-02'), tick(13), idle(20), idle(21, 'PC-02')]);
  expect(told(joins.last)).toEqual([['no-data', null, 5, 21]]);
  expect(joins.last[0]?.together).toEqual(['PC-01', 'PC-02']);
  expect(told(run([silent(0), tick(6), silent(7, 'PC-03'), tick(13)]).last)).toEqual([
    ['no-data', 'PC-01', 5, null],
    ['no-data', 'PC-03', 12, null],
  ]);
});

test('[SI3] after a start of the gateway every silence begins anew', () => {
  const events = [silent(-120), silent(-120, 'PC-02')];
  const first = watchBatch(RULES, initialWatch(), { events, now: at(0), restarted: true });
  expect(first.alerts).toEqual([]);
  const soon = watchBatch(RULES, first.state, { events: [], now: at(5) });
  expect(soon.alerts).toEqual([]);
  expect(watchBatch(RULES, soon.state, { events: [], now: at(6) }).alerts.map(({ startedAt }) => startedAt)).toEqual([at(5)]);
  expect(watchBatch(RULES, initialWatch(), { events, now: at(0) }).alerts).toHaveLength(1);
});
