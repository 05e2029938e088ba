/** The plant's calendar against luxon, a general-purpose time library, over the changes of clocks of 2026. */
import { DateTime } from 'luxon';
import { expect, test } from 'vitest';
import { afterWorking, instantOf, localMonday, localOf, PLANT_ZONE, shiftAt } from '../../../gateway/simulator/calendar.ts';

const HOUR = 3_600_000;
const at = (text: string): number => DateTime.fromISO(text, { zone: PLANT_ZONE }).toMillis();

test('local time is that of the zone, every half hour of 2026', () => {
  for (let instant = Date.UTC(2026, 0, 1); instant < Date.UTC(2027, 0, 1); instant += HOUR / 2) {
    expect(localOf(instant).toISOString().slice(0, 16)).toBe(
      DateTime.fromMillis(instant, { zone: PLANT_ZONE }).toFormat("yyyy-MM-dd'T'HH:mm"),
    );
  }
});

test.each(['2026-03-29T01:30', '2026-03-29T03:30', '2026-10-25T01:30', '2026-10-25T03:30', '2026-07-01T12:00'])(
  'wall time %s is found',
  (text) => {
    expect(instantOf(Date.parse(`${text}:00Z`))).toBe(at(text));
  },
);

test('a week begins on the Monday of the zone', () => {
  for (const text of ['2026-03-29T23:59', '2026-10-26T00:00', '2027-01-03T12:00']) {
    const monday = DateTime.fromISO(text, { zone: PLANT_ZONE }).startOf('week');
    expect(instantOf(localMonday(at(text)))).toBe(monday.toMillis());
  }
});

test('shifts run from Monday 06:00 to Saturday 14:00, and the night of a change of clocks is an hour shorter or longer', () => {
  expect(shiftAt(at('2026-03-02T05:59'))).toBeNull();
  expect(shiftAt(at('2026-03-02T06:00'))?.kind).toBe('early');
  expect(shiftAt(at('2026-03-07T05:59'))).toEqual({ kind: 'night', from: at('2026-03-06T22:00'), to: at('2026-03-07T06:00') });
  expect(shiftAt(at('2026-03-07T13:59'))?.kind).toBe('early');
  expect(shiftAt(at('2026-03-07T14:00'))).toBeNull();
});

test("on Founders' Day nobody starts a shift: its night is off too, the night before works to its end", () => {
  expect(shiftAt(at('2026-11-12T05:00'))?.kind).toBe('night');
  expect(shiftAt(at('2026-11-12T10:00'))).toBeNull();
  expect(shiftAt(at('2026-11-13T05:00'))).toBeNull();
  expect(shiftAt(at('2026-11-13T06:00'))?.kind).toBe('early');
});

test('work that begins on Saturday afternoon is done on Monday', () => {
  expect(afterWorking(at('2026-03-07T13:00'), 3 * HOUR)).toBe(at('2026-03-09T08:00'));
  expect(afterWorking(at('2026-03-03T10:00'), 3 * HOUR)).toBe(at('2026-03-03T13:00'));
});
