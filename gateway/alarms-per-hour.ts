/** How often alarms came in each of the last hours, oldest first: for the picture in a mail. */
import { isActivation } from '../src/activation.ts';
import type { Alert } from '../src/contract.ts';
import { HOUR_MS } from '../src/zone.ts';
import type { EventStore } from './store/store.ts';

const HOURS = 12;

/** Of the chambers that these alerts are about; none where they are about no chamber. */
export async function alarmsPerHour(store: Pick<EventStore, 'events'>, alerts: readonly Alert[], now: number): Promise<readonly number[]> {
  const chambers = [...new Set(alerts.flatMap(({ chamber, together }) => (chamber === null ? together : [chamber])))];
  if (chambers.length === 0) return [];
  const from = now - HOURS * HOUR_MS;
  const events = await store.events({ kinds: ['alarm'], chambers, from, to: now });
  const counts = Array.from({ length: HOURS }, () => 0);
  for (const event of events) if (event.kind === 'alarm' && isActivation(event)) counts[Math.floor((event.at - from) / HOUR_MS)]! += 1;
  return counts;
}
