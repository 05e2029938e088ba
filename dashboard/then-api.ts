/** What is asked of a day, and what of today. */
import * as z from 'zod/mini';
import { interval, runRow, type StateInterval } from '../src/contract.ts';
import { seenNumbers, type SeenNumbers } from '../src/numbers.ts';
import { get } from './api.ts';

type Span = { readonly from: number; readonly to: number };
const intervals = z.array(interval);
/** Of a run only what a line of that day needs: whatever more the answer holds is not read. */
const runEnds = z.array(z.pick(runRow, { run: true, startedAt: true, endedAt: true, recipe: true, load: true, outcome: true }));
export type RunEndRow = z.infer<typeof runEnds>[number];

const words = (chamber: string, { from, to }: Span): string => String(new URLSearchParams({ chamber, from: String(from), to: String(to) }));

export const fetchDay = (chamber: string, span: Span): Promise<StateInterval[]> =>
  get(`/api/equipment-time?${words(chamber, span)}`, intervals);
export const fetchRunsOf = (chamber: string, span: Span): Promise<RunEndRow[]> =>
  get(`/api/runs?${words(chamber, span)}&limit=200`, runEnds);

const numbers = z.array(seenNumbers);
export const fetchTodayNumbers = async (chamber: string): Promise<SeenNumbers | null> =>
  (await get(`/api/numbers?${new URLSearchParams({ window: 'today', chamber })}`, numbers))[0] ?? null;
