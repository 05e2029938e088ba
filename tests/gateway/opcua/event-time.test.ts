import { expect, test } from 'vitest';
import { EventTime } from '../../../gateway/opcua/event-time.ts';
import { FROM_RECEIPT, FROM_SERVER, FROM_SOURCE } from '../../../gateway/opcua/wire.ts';

const NOW = Date.UTC(2026, 10, 25, 10);

/** Messages one second apart with the given clock errors. */
function after(messages: readonly { source: number; server: number }[]): EventTime {
  const time = new EventTime(5000);
  messages.forEach(({ source, server }, i) => {
    const receivedAt = NOW + i * 1000;
    time.fresh(receivedAt + source - 900, receivedAt + server - 900, receivedAt);
    time.fresh(receivedAt + source, receivedAt + server, receivedAt);
    time.endOfMessage();
  });
  return time;
}
const same = (source: number, server: number, n = 5) => Array.from({ length: n }, () => ({ source, server }));
function judged(time: EventTime, source: number, server: number): [number, number] {
  time.judge(source, server, NOW);
  return [time.at, time.origin];
}

test('a source clock inside the tolerance is believed, also for a value that has not changed for hours', () => {
  const time = after(same(-300, 0));
  expect(time.skewMs).toBe(-300);
  expect(judged(time, NOW - 7_200_000, NOW)).toEqual([NOW - 7_200_000, FROM_SOURCE]);
});

test('with the source clock 87 s slow the server clock is believed, and with both off our own receipt', () => {
  expect(judged(after(same(-87_000, 0)), NOW - 87_000, NOW - 100)).toEqual([NOW - 100, FROM_SERVER]);
  expect(judged(after(same(-87_000, 90_000)), NOW - 87_000, NOW + 90_000)).toEqual([NOW, FROM_RECEIPT]);
});

test('of the first values of a session a clock is believed only if its newest stamp shows that it goes right', () => {
  const time = new EventTime(5000);
  expect(time.skewMs).toBeNull();
  expect(judged(time, NOW - 60_000, NOW)).toEqual([NOW, FROM_RECEIPT]);
  time.glimpsed(NOW - 7_200_000, 0, NOW);
  expect(judged(time, NOW - 7_200_000, NOW)).toEqual([NOW, FROM_RECEIPT]);
  time.glimpsed(NOW - 40_000, NOW - 5, NOW);
  expect(judged(time, NOW - 40_000, NOW - 5)).toEqual([NOW - 5, FROM_SERVER]);
  time.glimpsed(NOW - 300, 0, NOW);
  expect(judged(time, NOW - 7_200_000, NOW)).toEqual([NOW - 7_200_000, FROM_SOURCE]);
  expect(judged(time, NOW + 60_000, NOW - 5)).toEqual([NOW - 5, FROM_SERVER]);
  expect(judged(time, 0, 0)).toEqual([NOW, FROM_RECEIPT]);
  expect(judged(time, Date.UTC(1601, 0, 1), NOW - 5)).toEqual([NOW - 5, FROM_SERVER]);
  // Two hours ahead, unchanged for three: it looks like an hour ago, until a newer value gives it away.
  time.glimpsed(NOW + 7_200_000, 0, NOW);
  expect(judged(time, NOW - 3_600_000, NOW - 5)).toEqual([NOW - 5, FROM_SERVER]);
});

test('a new session proves its clock anew: what was measured before may have been set since', () => {
  const time = after(same(0, 0));
  time.unsure();
  expect(judged(time, NOW - 60_000, 0)).toEqual([NOW, FROM_RECEIPT]);
  time.fresh(NOW - 10, 0, NOW);
  expect(judged(time, NOW - 10, 0)).toEqual([NOW - 10, FROM_SOURCE]);
});

test('a value that changed just now and is stamped over a minute ago has a clock that stands, though the chamber’s others go right', () => {
  const time = after(same(0, 0));
  const fresh = (sourceMs: number, serverMs: number) => (time.judgeFresh(sourceMs, serverMs, NOW), [time.at, time.origin]);
  expect(fresh(NOW - 10_000_000, NOW - 20)).toEqual([NOW - 20, FROM_SERVER]);
  expect(fresh(NOW - 10_000_000, NOW - 10_000_000)).toEqual([NOW, FROM_RECEIPT]);
  expect(fresh(NOW - 30_000, NOW)).toEqual([NOW - 30_000, FROM_SOURCE]);
});

test('a replayed alarm keeps the time since when it stands, unless the clock was seen to be off', () => {
  const time = new EventTime(5000);
  const event = (deviceMs: number) => (time.judgeEvent({ deviceMs, serverMs: 0 }, NOW), [time.at, time.origin]);
  expect([event(NOW - 7_200_000), event(NOW + 60_000)]).toEqual([
    [NOW - 7_200_000, FROM_SOURCE],
    [NOW, FROM_RECEIPT],
  ]);
  time.glimpsed(NOW - 3_600_000, 0, NOW);
  expect(event(NOW - 7_200_000)).toEqual([NOW, FROM_RECEIPT]);
});

test('one late message does not move the skew, and a clock that is set is followed within three messages', () => {
  expect(after([...same(0, 0, 4), { source: -40_000, server: -40_000 }]).skewMs).toBe(0);
  expect(after([...same(0, 0, 5), ...same(-87_000, 0, 3)]).skewMs).toBe(-87_000);
});
