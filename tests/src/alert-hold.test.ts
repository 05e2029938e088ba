import { expect, test } from 'vitest';
import { begun, paused, renewed, resumed } from '../../src/alert-hold.ts';
import { watch } from '../../src/alert-watch.ts';
import { at, down, MIN, ran, rulesWith, tick } from './watch-fixture.ts';

const clock = { calendar: null, limitMs: 30 * MIN };
const hold = begun({ kind: 'down', chamber: 'PC-01', since: at(0), what: 'x' }, clock);

test('[HL1] the clock stands still while the hold is not observed, however often', () => {
  const often = [3, 6, 9].reduce((one, minute) => resumed(paused(one, at(minute), clock), at(minute + 1), clock), hold);
  expect(often.due).toBe(at(33));
  expect(paused(hold, at(10), clock).due).toBeNull();
  expect(paused(paused(hold, at(10), clock), at(20), clock)).toEqual(paused(hold, at(10), clock));
  expect(resumed(hold, at(10), clock)).toBe(hold);
  expect(renewed(hold, at(10), clock).due).toBe(at(40));
});

test('[HL2] what is told of it says how it was at the moment its time was up, whenever the news came', () => {
  const rules = rulesWith({}, ['down']);
  const events = [down(0), down(35, 'PC-01', 'repair: x')];
  const [late, soon] = [ran([...events, tick(60)], rules), ran([down(0), tick(31), ...events.slice(1), tick(60)], rules)];
  expect(late.last).toEqual(soon.last);
  expect(late.last[0]?.headline).toBe('PC-01: down for 30 min: tripped: RF generator fault.');
});

test('[HL3] what no calendar plans for 60 days is looked at again, and so is what a new calendar or limit puts off', () => {
  const rules = rulesWith({}, ['down']);
  const day = 24 * 60;
  // Nothing is planned for 90 days.
  const holidays = Array.from({ length: 90 }, (_, i) => ({ date: new Date(at(i * day)).toISOString().slice(0, 10), name: 'closed' }));
  const closed = { ...rules, calendar: { ...rules.calendar, holidays } };
  const midnight = 12 * 60;
  const opens = (90 - 1) * day + midnight;
  expect(ran([down(0), tick(61 * day), tick(opens + 29)], closed).last).toEqual([]);
  expect(ran([down(0), tick(61 * day), tick(opens + 31)], closed).last[0]?.startedAt).toBe(at(opens + 30));
  const patient = { ...rules, settings: { ...rules.settings, down: { ...rules.settings.down, longerThanMin: 60 } } };
  const half = ran([down(0), tick(20)], rules);
  const later = watch(patient, half.state, tick(59));
  expect(later.alerts).toEqual([]);
  expect(watch(patient, later.state, tick(61)).alerts[0]?.startedAt).toBe(at(60));
});
