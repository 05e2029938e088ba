/**
 * A day in the simulated hall with a cooling-water failure, a chattering door switch, a leaking chamber and a dead link: exactly the alerts that a
 * good engineer would want, and no other. A fortnight goes before it, from which drift learns what is usual; on the day itself nothing fails but
 * what is ordered here, while small alarms come and go as ever.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Alert } from '../../src/contract.ts';
import type { StoredEvent } from '../../src/event.ts';
import { alertsOf, DAY, driftLook, fleetFacts } from '../accuracy/fleet-days.ts';

const MONDAY = Date.UTC(2026, 9, 4, 22);
/** Tuesday 20 October 2026, 00:00 at the plant. */
const FROM = MONDAY + 15 * DAY;
const MIN = 60_000;
const at = (hour: number, minute = 0): number => FROM + (hour * 60 + minute) * MIN;

let facts: readonly StoredEvent[];
let alerts: readonly Alert[];

beforeAll(async () => {
  facts = await fleetFacts({
    ...{ seed: 1, from: MONDAY, days: 16, calmFrom: at(-7) },
    orders: [
      { at: at(-6), fault: 'leak', chamber: 'PC-09', size: 140, durationMs: 3 * DAY },
      { at: at(8), fault: 'chattering-switch', chamber: 'PC-03', size: 1, durationMs: 180 * MIN },
      { at: at(10, 12), fault: 'cooling-water', chamber: null, size: 8, durationMs: 41 * MIN },
      { at: at(15), fault: 'link-drop', chamber: 'PC-12', size: null, durationMs: 50 * MIN },
    ],
  });
  alerts = await alertsOf(facts, { from: FROM, to: FROM + DAY, look: driftLook(facts) });
}, 400_000);

const of = (kind: Alert['kind']): Alert => alerts.find((alert) => alert.kind === kind) as Alert;

describe('the day’s alerts', () => {
  test('are these four, and each is told once', () => {
    expect(alerts.map(({ kind, chamber, severity, partOf }) => [kind, chamber, severity, partOf]).sort()).toEqual([
      ['chattering', 'PC-03', 'low', null],
      ['common-cause', null, 'high', null],
      ['drift', 'PC-09', 'medium', null],
      ['no-data', 'PC-12', 'medium', null],
    ]);
  });

  test('the water failure is one alert within a minute, names the loop, its six chambers and what came first, and ends with the water', () => {
    const cause = of('common-cause');
    expect(cause.startedAt).toBeGreaterThan(at(10, 12));
    expect(cause.startedAt).toBeLessThan(at(10, 13));
    expect(cause.together).toEqual(['PC-07', 'PC-08', 'PC-09', 'PC-10', 'PC-11', 'PC-12']);
    expect(cause.shares).toBe('cooling water (Loop South)');
    expect(cause.alarms?.firstOut).toMatchObject({ code: 'WATER_FLOW_LOW' });
    expect(cause.cure).toMatch(/^Check flow and temperature of the loop/);
    expect(cause.closedAt).toBeGreaterThan(at(10, 53));
    expect(cause.closedAt).toBeLessThan(at(11, 10));
  });

  test('it did stop chambers: they are down in the books, and none of them is told on its own', () => {
    const tripped = facts.filter(
      (event) =>
        event.kind === 'equipment-state' && event.state === 'unscheduled-downtime' && event.at >= at(10, 12) && event.at < at(10, 20),
    );
    expect(tripped.length).toBeGreaterThan(2);
  });

  test('the door switch is one alert for all its flutter, with the delay that would have spared it', () => {
    const door = of('chattering');
    expect(door.alarms?.top[0]).toMatchObject({ code: 'DOOR_NOT_CLOSED', chamber: 'PC-03' });
    expect(door.alarms?.count).toBeGreaterThan(30);
    expect(door.cure).toMatch(/-delay of \d+ s would have removed/);
    expect(door.startedAt).toBeLessThan(at(9, 15));
    expect(door.closedAt).toBeLessThan(at(11, 15));
  });

  test('the leak is told against the chamber’s own usual, points to a leak, and says what to check first', () => {
    const leak = of('drift');
    expect(leak.headline).toMatch(/^PC-09: .* higher .* usually .* It points to leak\.$/);
    expect(leak.cure).toMatch(/^Check with a leak test/);
    expect(leak.facts.map(({ label }) => label)).toEqual(expect.arrayContaining(['Size', 'Since', 'For it', 'Not checkable']));
  });

  test('the dead link is told after five minutes as time nobody observed, and over when it is heard again', () => {
    const link = of('no-data');
    expect(link.startedAt - at(15)).toBeGreaterThanOrEqual(5 * MIN - 15_000);
    expect(link.startedAt - at(15)).toBeLessThan(6 * MIN);
    expect(Math.abs((link.closedAt ?? 0) - at(15, 50))).toBeLessThan(MIN);
    expect(link.headline).toBe('PC-12: over. Heard again after 50 min.');
  });
});
