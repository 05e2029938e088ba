import { describe, expect, test } from 'vitest';
import { delayAdvice, delayed, withDeadband } from '../../src/alarm-delay.ts';
import type { ActiveSpan } from '../../src/alarm-spans.ts';

const S = 1000;
const spans = (...pairs: readonly (readonly [number, number])[]): ActiveSpan[] =>
  pairs.map(([from, to]) => ({ from: from * S, to: to * S, isKnown: true, acknowledged: false }));
const seconds = (list: readonly { from: number; to: number }[]): number[][] => list.map(({ from, to }) => [from / S, to / S]);
/** Active for `active` seconds, `count` times, `every` seconds. */
const train = (count: number, every: number, active: number): ActiveSpan[] =>
  spans(...Array.from({ length: count }, (_, i) => [i * every, i * every + active] as const));

describe('delay and deadband', () => {
  test('[AD1] A4: raw [0,8] [20,35] [38,50] s with on-delay 10 and off-delay 5 s is one alarm from 30 to 55 s (idea of OPC 10000-9 B.1.5, own data)', () => {
    const raw = spans([0, 8], [20, 35], [38, 50]);
    expect(seconds(delayed(raw, { onMs: 10 * S, offMs: 5 * S }))).toEqual([[30, 55]]);
    expect(seconds(delayed(raw, { onMs: 0, offMs: 0 }))).toEqual([
      [0, 8],
      [20, 35],
      [38, 50],
    ]);
    expect(seconds(delayed(raw, { onMs: 10 * S, offMs: 0 }))).toEqual([
      [30, 35],
      [48, 50],
    ]);
    expect(seconds(delayed(raw, { onMs: 0, offMs: 5 * S }))).toEqual([
      [0, 13],
      [20, 55],
    ]);
    expect(seconds(delayed(raw, { onMs: 0, offMs: 3 * S }))).toEqual([
      [0, 11],
      [20, 38],
      [38, 53],
    ]);
  });

  test('[AD1] held for exactly the on-delay is told; a second less is not', () => {
    expect(seconds(delayed(spans([0, 10]), { onMs: 10 * S, offMs: 0 }))).toEqual([[10, 10]]);
    expect(delayed(spans([0, 9]), { onMs: 10 * S, offMs: 0 })).toEqual([]);
  });

  test('[AD2] A5: limit above 100 with deadband 2 over 99 100.5 99.5 100.2 98.5 97.9 100.1 99: on at 1, off at 5, on at 6; without it three activations (own data)', () => {
    const values = [99, 100.5, 99.5, 100.2, 98.5, 97.9, 100.1, 99];
    const onsets = (stands: readonly boolean[]): number[] => stands.flatMap((is, i) => (is && !stands[i - 1] ? [i] : []));
    const banded = withDeadband(values, { limit: 100, deadband: 2, side: 'high' });
    expect(banded).toEqual([false, true, true, true, true, false, true, true]);
    expect(onsets(banded)).toEqual([1, 6]);
    expect(onsets(withDeadband(values, { limit: 100, deadband: 0, side: 'high' }))).toEqual([1, 3, 6]);
    const mirrored = values.map((value) => 200 - value);
    expect(withDeadband(mirrored, { limit: 100, deadband: 2, side: 'low' })).toEqual(banded);
  });

  test('[AD4] a hunting contact, 3 s in every 20 s: the shortest off-delay that bridges the 17 s is advised, and says what it spares', () => {
    const advice = delayAdvice({ spans: train(230, 20, 3), unseen: [], priority: 'medium' });
    expect(advice?.offDelay).toEqual({ kind: 'off-delay', ms: 30 * S, left: 1, removed: 229, delayed: 0 });
    expect(advice?.onDelay).toEqual({ kind: 'on-delay', ms: 5 * S, left: 0, removed: 230, delayed: 0 });
    expect(advice?.text).toContain('An off-delay of 30 s would have removed 229 of 230 activations and made no alarm late.');
  });

  test('[AD1] an on-delay makes late what it leaves, and says so', () => {
    const mixed = [...train(20, 100, 3), ...spans([5000, 5060], [9000, 9090])];
    const advice = delayAdvice({ spans: mixed, unseen: [], priority: 'low' });
    expect(advice?.onDelay).toEqual({ kind: 'on-delay', ms: 5 * S, left: 2, removed: 20, delayed: 2 });
    expect(advice?.text).toContain('told the other 2 later by 5 s');
  });

  test('[AD5] for a high priority no on-delay is advised', () => {
    expect(delayAdvice({ spans: train(20, 100, 3), unseen: [], priority: 'high' })?.onDelay).toBeNull();
  });

  test('[AD4] four activations are too few; twenty long ones hours apart are for no delay, and it says to look for the cause', () => {
    expect(delayAdvice({ spans: train(4, 20, 3), unseen: [], priority: 'low' })).toBeNull();
    const advice = delayAdvice({ spans: train(20, 7200, 900), unseen: [], priority: 'low' });
    expect([advice?.offDelay, advice?.onDelay]).toEqual([null, null]);
    expect(advice?.text).toContain('look for the cause');
  });

  test('[AD3] no off-delay bridges time nobody observed, nor an activation whose end was not seen', () => {
    const hole = [{ from: 50 * S, to: 55 * S }];
    const left = (over: readonly ActiveSpan[], unseen: typeof hole): number | undefined =>
      delayAdvice({ spans: over, unseen, priority: 'low' })?.settings.find(({ ms }) => ms === 300 * S)?.left;
    expect(left(train(10, 20, 3), [])).toBe(1);
    expect(left(train(10, 20, 3), hole)).toBe(2);
    const cut = train(10, 20, 3).map((span, i) => (i === 4 ? { ...span, isKnown: false } : span));
    expect(left(cut, [])).toBe(2);
    const onLeft = delayAdvice({ spans: cut, unseen: [], priority: 'low' })?.settings.find(
      ({ kind, ms }) => kind === 'on-delay' && ms === 60 * S,
    );
    expect(onLeft?.left).toBe(1);
  });
});
