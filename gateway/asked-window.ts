/** A window as it was asked for, as a span of the site's calendar that ends now at the latest: the future has no facts. */
import { dayWindow, shiftAt, weekOf, weekWindow, type Calendar, type Span } from '../src/calendar.ts';
import { Fault } from '../src/fault.ts';
import { HOUR_MS } from '../src/zone.ts';
import type { Window } from './http/answers-port.ts';

export function askedWindow(window: Window, calendar: Calendar, now: number): Span {
  if (!('name' in window)) return untilNow(window, now);
  switch (window.name) {
    case 'now':
      return { from: now - HOUR_MS, to: now };
    case 'today':
      return untilNow(dayWindow(now, calendar.zone), now);
    case 'week':
      return untilNow(weekWindow(weekOf(now, calendar.zone), calendar.zone) as Span, now);
    case 'shift':
      return untilNow(presentShift(calendar, now), now);
  }
}

function presentShift(calendar: Calendar, now: number): Span {
  const shift = shiftAt(calendar, now);
  if (shift === null) throw new Fault('not-found', 'No shift is on now. Ask for today, week, or from and to.');
  return shift;
}

function untilNow({ from, to }: Span, now: number): Span {
  if (from > now) throw new Fault('invalid', 'The window lies in the future: nothing has happened there yet.');
  return { from, to: Math.max(from, Math.min(to, now)) };
}
