import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { newDelivery } from '../../src/alert-plan.ts';
import { DIGEST_EVERY_MS, gathered, kindOf, nextTurn, type RouteLine } from '../../src/alert-turn.ts';
import { delivery as deliverySchema, type Delivery } from '../../src/contract.ts';
import { T0 } from '../gateway/wire-examples.ts';

const MINUTE = 60_000;
const message = (alert: string, change: Partial<Delivery> = {}): Delivery => ({
  ...newDelivery({ alert, route: 'mail', stage: change.stage ?? 'opened', at: T0 }),
  ...change,
});
const sent = (alert: string, deliveredAt: number): Delivery => message(alert, { state: 'delivered', deliveredAt, nextAt: null });
const line = (change: Partial<RouteLine> = {}): RouteLine => ({
  due: [],
  sent: [],
  perHour: 30,
  groupMs: () => 5 * MINUTE,
  now: T0,
  ...change,
});
/** What leaves: the alert alone, or the alerts of a digest. */
const leaves = (change: Partial<RouteLine>): string | string[] | null => {
  const turn = nextTurn(line(change));
  return turn === null ? null : turn.type === 'send' ? turn.delivery.alert : turn.deliveries.map(({ alert }) => alert);
};

describe('what leaves next', () => {
  test('[TU1] a test first, then what was tried before, each under its own key', () => {
    const test = message('', { stage: 'test' });
    const tried = message('burst/A/1', { attempts: 1 });
    const due = [message('burst/B/1'), message('burst/C/1'), tried, test];
    expect(nextTurn(line({ due }))).toEqual({ type: 'send', delivery: test });
    expect(nextTurn(line({ due: due.slice(0, 3) }))).toEqual({ type: 'send', delivery: tried });
    expect(nextTurn(line({ due: due.slice(0, 2) }))?.type).toBe('gather');
  });

  test('[TU2] an escalation alone and at once, over any limit', () => {
    const escalated = message('burst/A/1', { stage: 'escalated' });
    const due = [message('burst/B/1'), escalated];
    expect(nextTurn(line({ due, perHour: 1, sent: [sent('burst/C/1', T0 - 1)] }))).toEqual({ type: 'send', delivery: escalated });
  });

  test('[TU3] the first of a kind at once, the next when the grouping time is over, all as one', () => {
    const before = [sent('burst/A/1', T0)];
    const due = [message('burst/B/1'), message('burst/C/1')];
    expect(leaves({ due: [message('burst/A/1')] })).toBe('burst/A/1');
    expect(leaves({ due, sent: before, now: T0 + 5 * MINUTE - 1 })).toBeNull();
    expect(leaves({ due, sent: before, now: T0 + 5 * MINUTE })).toEqual(['burst/B/1', 'burst/C/1']);
    expect(leaves({ due: [message('burst/B/1')], sent: before, now: T0 + 5 * MINUTE })).toBe('burst/B/1');
  });

  test('[TU3] another kind waits for nothing, and a digest counts for every kind in it', () => {
    expect(leaves({ due: [message('burst/B/1'), message('down/B/1')], sent: [sent('burst/A/1', T0)] })).toBe('down/B/1');
    const { digest } = gathered([message('burst/A/1'), message('down/A/1')], T0);
    expect(leaves({ due: [message('down/B/1')], sent: [{ ...digest, state: 'delivered', deliveredAt: T0 }] })).toBeNull();
  });

  test('[TU4] more than three at once leave as one, whatever their kinds', () => {
    const due = ['burst/A/1', 'down/A/1', 'waiting/A/1', 'drift/A/1'].map((alert) => message(alert));
    expect(leaves({ due })).toEqual(['burst/A/1', 'down/A/1', 'drift/A/1', 'waiting/A/1']);
    expect(leaves({ due: due.slice(1) })).toBe('down/A/1');
  });

  test('[TU5] over its limit a route sends a digest of all every five minutes', () => {
    const before = [sent('stale/A/1', T0 - 50 * MINUTE), sent('burst/A/1', T0)];
    const due = [message('burst/B/1'), message('down/B/1')];
    expect(leaves({ due, sent: before, perHour: 2, now: T0 + DIGEST_EVERY_MS - 1 })).toBeNull();
    expect(leaves({ due, sent: before, perHour: 2, now: T0 + DIGEST_EVERY_MS })).toEqual(['burst/B/1', 'down/B/1']);
    // An hour later the first no longer counts.
    expect(leaves({ due, sent: before, perHour: 2, now: T0 + 10 * MINUTE })).toBe('burst/B/1');
  });

  test('[TU6] beginning and end of one alert leave alone, the beginning first', () => {
    const due = [message('burst/A/1', { stage: 'closed' }), message('burst/A/1')];
    expect(nextTurn(line({ due }))).toEqual({ type: 'send', delivery: due[1] });
  });

  test('[TU8] what failed three times lets everything else go first, and goes when nothing else may', () => {
    const stubborn = message('burst/A/1', { attempts: 3, nextAt: T0 - MINUTE });
    expect(nextTurn(line({ due: [stubborn, message('burst/A/2', { attempts: 2 })] }))).toMatchObject({ delivery: { alert: 'burst/A/2' } });
    expect(leaves({ due: [stubborn, message('down/B/1')] })).toBe('down/B/1');
    expect(leaves({ due: [stubborn, message('burst/B/1')], sent: [sent('burst/C/1', T0)] })).toBe('burst/A/1');
    expect(leaves({ due: [stubborn] })).toBe('burst/A/1');
  });

  test('[TU7] a digest tells at most a hundred alerts', () => {
    const due = Array.from({ length: 250 }, (_, i) => message(`burst/A/${i}`));
    expect(leaves({ due })).toHaveLength(100);
  });

  test('[TU1] [TU5] [TU7] whatever waits, nothing is lost, nothing leaves twice, and no more leave than the limit and a digest every five minutes', () => {
    const arrival = fc.record({ at: fc.nat(180), kind: fc.constantFrom('burst', 'down', 'drift'), chamber: fc.nat(9) });
    fc.assert(
      fc.property(fc.array(arrival, { maxLength: 120 }), fc.integer({ min: 1, max: 12 }), (arrivals, perHour) => {
        const told = new Map<string, number>();
        const out: Delivery[] = [];
        let rows = arrivals.map(({ at, kind, chamber }, i) =>
          message(`${kind}/${chamber}/${i}`, { nextAt: T0 + at * MINUTE, dueAt: T0 + at * MINUTE }),
        );
        for (let now = T0; now < T0 + 400 * MINUTE; now += MINUTE / 2) {
          const due = rows.filter(({ state, nextAt }) => state === 'waiting' && (nextAt ?? 0) <= now);
          const turn = nextTurn(line({ due, sent: out, perHour, now }));
          if (turn === null) continue;
          const leaving = turn.type === 'send' ? [turn.delivery] : turn.deliveries;
          const whole = turn.type === 'send' ? turn.delivery : gathered(turn.deliveries, now).digest;
          out.push({ ...whole, state: 'delivered', deliveredAt: now, nextAt: null });
          for (const { id } of leaving) told.set(id, (told.get(id) ?? 0) + 1);
          rows = rows.map((row) => (leaving.includes(row) ? { ...row, state: 'delivered' } : row));
        }
        expect([...told.values()].every((times) => times === 1)).toBe(true);
        expect(told.size).toBe(arrivals.length);
        for (const { deliveredAt } of out) {
          const hour = out.filter(
            (one) => (one.deliveredAt ?? 0) <= (deliveredAt ?? 0) && (one.deliveredAt ?? 0) > (deliveredAt ?? 0) - 60 * MINUTE,
          );
          expect(hour.length).toBeLessThanOrEqual(perHour + (60 * MINUTE) / DIGEST_EVERY_MS);
        }
      }),
      { seed: 11, numRuns: 40 },
    );
  });
});

test('[TU4] a digest names what is in it, each part names the digest, and both are what the wire takes', () => {
  const parts = [message('burst/A/1'), message('down/A/1')];
  const step = gathered(parts, T0);
  expect(step.digest).toMatchObject({ state: 'waiting', attempts: 0, nextAt: T0, covers: parts.map(({ id }) => id), alert: 'burst/A/1' });
  expect(step.parts.map(({ state, digest, nextAt }) => [state, digest, nextAt])).toEqual(Array(2).fill(['gathered', step.digest.id, null]));
  for (const one of [step.digest, ...step.parts]) expect(deliverySchema.parse(one)).toEqual(one);
  expect([kindOf('no-data/PC-01/x'), kindOf('')]).toEqual(['no-data', '']);
});
