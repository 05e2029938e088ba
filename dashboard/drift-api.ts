/** What the pages about drift and maintenance ask the gateway for. */
import { counters, type Counters } from '../src/counter-answer.ts';
import { chamberDriftAnswer, driftFleet, type ChamberDriftAnswer, type DriftFleet } from '../src/drift-answer.ts';
import { get } from './api.ts';
import type { DriftChoice } from './page-address.ts';

export const fetchDrift = (): Promise<DriftFleet> => get('/api/drift', driftFleet);

export const fetchCounters = (): Promise<Counters> => get('/api/counters', counters);

export function chartQuery({ recipe, measure, line }: DriftChoice): string {
  const named = Object.entries({ recipe, measure, line }).filter((each): each is [string, string] => each[1] !== null);
  return named.length === 0 ? '' : `?${new URLSearchParams(named)}`;
}

export const fetchChamberDrift = (choice: DriftChoice): Promise<ChamberDriftAnswer> =>
  get(`/api/drift/${encodeURIComponent(choice.chamber)}${chartQuery(choice)}`, chamberDriftAnswer);
