import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { afterAttempt, FIRST_RETRY_MS, GIVE_UP_MS, LAST_RETRY_MS, waitMs, type Moment } from '../../../gateway/alerts/retry.ts';
import { outcomeOf as outcomeOfAny } from '../../../gateway/alerts/http-post.ts';
import { headerText } from '../../../gateway/alerts/webhook.ts';
import { exampleDelivery, T0 } from '../wire-examples.ts';

const moment = (change: Partial<Moment> = {}): Moment => ({ now: T0, speed: 1, ageMs: 0, random: 1, ...change });
const outcomeOf = (status: number, retryAfter: string | null, date: number) => outcomeOfAny('webhook', status, retryAfter, date);
const failed = { type: 'failed', reason: 'The webhook answered 500.', afterMs: null } as const;

describe('after an attempt', () => {
  it('waits 5 s to 15 min, doubling, with full jitter', () => {
    expect([1, 2, 3, 8, 9, 500].map((n) => waitMs(n, null, 1))).toEqual([
      10_000,
      20_000,
      40_000,
      LAST_RETRY_MS,
      LAST_RETRY_MS,
      LAST_RETRY_MS,
    ]);
    expect(waitMs(8, null, 0.5)).toBe(LAST_RETRY_MS / 2);
    fc.assert(
      fc.property(fc.nat(1000), fc.double({ min: 0, max: 1, noNaN: true }), fc.option(fc.nat()), (attempts, random, after) => {
        const wait = waitMs(attempts, after, random);
        expect(wait).toBeGreaterThanOrEqual(FIRST_RETRY_MS);
        expect(wait).toBeLessThanOrEqual(LAST_RETRY_MS);
      }),
      { seed: 7 },
    );
  });

  it('a wait is in real time, also where plant time runs faster', () => {
    expect(afterAttempt(exampleDelivery(), failed, moment({ speed: 60 })).nextAt).toBe(T0 + 10_000 * 60);
  });

  it('gives up after 24 hours, not before, and keeps the reason', () => {
    expect(afterAttempt(exampleDelivery(), failed, moment({ ageMs: GIVE_UP_MS - 1 })).state).toBe('waiting');
    expect(afterAttempt(exampleDelivery(), failed, moment({ ageMs: GIVE_UP_MS }))).toMatchObject({
      state: 'dead',
      nextAt: null,
      attempts: 1,
      lastError: 'The webhook answered 500. Given up after 24 hours.',
    });
    // A test is tried once.
    expect(afterAttempt(exampleDelivery(), failed, moment({ giveUpMs: 0 })).lastError).toBe('The webhook answered 500.');
  });

  it('a reason is one short line', () => {
    const { lastError } = afterAttempt(exampleDelivery(), { ...failed, reason: `a\r\nb\0${'x'.repeat(1000)}` }, moment());
    expect(lastError).toMatch(/^a b x+…$/);
    expect(lastError).toHaveLength(300);
  });

  it('a delivered message has no error left', () => {
    expect(afterAttempt(exampleDelivery({ lastError: 'x' }), { type: 'delivered' }, moment())).toMatchObject({
      state: 'delivered',
      deliveredAt: T0,
      lastError: null,
    });
  });
});

describe('what an answer of a webhook means', () => {
  it.each([[200], [201], [202], [204], [299]])('%i is delivered', (status) =>
    expect(outcomeOf(status, null, NaN)).toEqual({ type: 'delivered' }),
  );
  it.each([[408], [429], [500], [502], [503], [504]])('%i may pass', (status) => expect(outcomeOf(status, null, NaN).type).toBe('failed'));
  it.each([[301], [302], [307], [400], [401], [403], [404], [410], [413], [422]])('%i is final', (status) =>
    expect(outcomeOf(status, null, NaN).type).toBe('refused'),
  );

  // RFC 9110 10.2.3
  it('Retry-After is seconds or a date', () => {
    expect(outcomeOf(429, '120', NaN)).toMatchObject({ afterMs: 120_000 });
    expect(outcomeOf(503, 'Wed, 25 Nov 2026 06:02:00 GMT', T0)).toMatchObject({ afterMs: 120_000 });
    expect(outcomeOf(503, 'soon', T0)).toMatchObject({ afterMs: null });
  });

  it('a header value is visible ASCII whatever the name', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        expect(headerText(text)).toMatch(/^[\x21-\x7e]*$/);
      }),
      { seed: 3 },
    );
  });
});
