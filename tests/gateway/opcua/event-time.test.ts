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

test('before anything is known a stamp is believed unless it lies in the future or is none', () => {
  const time = new EventTime(5000);
  expect(time.skewMs).toBeNull();
  expect(judged(time, NOW - 60_000, NOW)).toEqual([NOW - 60_000, FROM_SOURCE]);
  expect(judged(time, NOW + 60_000, NOW)).toEqual([NOW, FROM_SERVER]);
  expect(judged(time, 0, 0)).toEqual([NOW, FROM_RECEIPT]);
  expect(judged(time, Date.UTC(1601, 0, 1), NOW - 5)).toEqual([NOW - 5, FROM_SERVER]);
});

test('one late message does not move the skew, and a clock that is set is followed within three messages', () => {
  expect(after([...same(0, 0, 4), { source: -40_000, server: -40_000 }]).skewMs).toBe(0);
  expect(after([...same(0, 0, 5), ...same(-87_000, 0, 3)]).skewMs).toBe(-87_000);
});
