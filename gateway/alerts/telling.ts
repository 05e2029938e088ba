/** What one message tells: an alert, several as a digest, or nothing but that messages arrive. */
import { isDigest } from '../../src/alert-turn.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import { alertMessage, clock, line, whoOf, type Message, type Place } from './message.ts';

export type Sending = {
  readonly delivery: Delivery;
  /** One; of a digest all; of a test none. */
  readonly alerts: readonly Alert[];
  readonly place: Place;
  /** Plant time. */
  readonly now: number;
  /** Alarms in each of the last hours, oldest first. */
  readonly perHour?: readonly number[];
};

const NAMED = 4;

export function messageOf({ delivery, alerts, place, now }: Sending): Message {
  const [first] = alerts;
  if (delivery.stage === 'test' || first === undefined) return testMessage(delivery, place, now);
  return isDigest(delivery.stage) ? digestMessage(alerts, place) : alertMessage(first, delivery.stage, place);
}

function testMessage({ route }: Delivery, place: Place, now: number): Message {
  return {
    subject: `Test: ${line(place.site)}, ${line(place.hall)}`,
    lines: [
      `Somebody asked Glowfleet to try the route ${line(route)} at ${clock(now, place.zone)}. Messages arrive here.`,
      'There is nothing to do.',
    ],
    link: place.url,
  };
}

/** True times of all of them, however late they are told. */
function digestMessage(alerts: readonly Alert[], place: Place): Message {
  const byTime = alerts.toSorted((a, b) => a.startedAt - b.startedAt || (a.id < b.id ? -1 : 1));
  const open = byTime.filter(({ state }) => state === 'open');
  const who = [...new Set(byTime.map(whoOf))];
  const rest = who.length - NAMED;
  return {
    subject: `${open.length === 0 ? 'Over' : 'Alerts'}: ${alerts.length} together: ${who.slice(0, NAMED).join(', ')}${rest > 0 ? ` and ${rest} more` : ''}`,
    lines: [
      `${alerts.length} alerts of ${line(place.site)}, ${line(place.hall)}, ${open.length} of them still open. They are told together, because they came close to each other or could not be sent before.`,
      '',
      ...byTime.map((alert) => `${span(alert, place.zone)}: ${line(alert.headline)}`),
    ],
    link: `${place.url.replace(/\/+$/, '')}/alerts`,
  };
}

const span = ({ startedAt, closedAt }: Alert, zone: string): string =>
  `${clock(startedAt, zone)}${closedAt === null ? '' : ` to ${clock(closedAt, zone)}`}`;
