import { expect, test } from 'vitest';
import { TraceWindow } from '../../dashboard/trace-window.ts';

const values = (now: number, at: number, value: number | null | boolean): Parameters<TraceWindow['append']>[0] => ({
  chamber: 'PC-01',
  now,
  values: [{ signal: 'rf.forward', at, value }],
});

test('live values that came before the record was read are kept behind it and counted once', () => {
  const window = new TraceWindow(1_000_000);
  window.append(values(300, 300, 3));
  window.append(values(400, 400, 4));
  window.fill({ chamber: 'PC-01', from: 0, to: 300, signals: [{ signal: 'rf.forward', at: [100, 200, 300], value: [1, null, 3] }] });
  expect(window.samples('rf.forward').map((s) => s.value)).toEqual([1, null, 3, 4]);
});

test('the same value told again changes nothing, and what is not a number is not drawn', () => {
  const window = new TraceWindow(1_000_000);
  window.append(values(100, 100, 1));
  window.append(values(350, 100, 1));
  window.append(values(600, 600, true));
  expect(window.samples('rf.forward')).toEqual([{ at: 100, value: 1 }]);
});

test('samples older than the window are forgotten, so that a page open for days stays small', () => {
  const window = new TraceWindow(10_000);
  for (let at = 0; at < 1_000_000; at += 250) window.append(values(at, at, at));
  expect(window.samples('rf.forward').length).toBeLessThan(120);
});

test('after a silence an unchanged value is known from now on, not from its old time', () => {
  const window = new TraceWindow(10_000);
  window.append(values(100, 100, 7));
  window.breakAt(150);
  window.append(values(400, 100, 7));
  window.append(values(650, 100, 7));
  expect(window.samples('rf.forward')).toEqual([
    { at: 100, value: 7 },
    { at: 150, value: null },
    { at: 400, value: 7 },
  ]);
});

test('silence ends the line once', () => {
  const window = new TraceWindow(10_000);
  window.append(values(100, 100, 1));
  window.breakAt(150);
  window.breakAt(150);
  expect(window.samples('rf.forward')).toEqual([
    { at: 100, value: 1 },
    { at: 150, value: null },
  ]);
});
