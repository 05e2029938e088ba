/** What the pages about runs ask the gateway for. */
import * as z from 'zod/mini';
import { foundRun, type FoundRun } from '../src/contract.ts';
import { runRecordAnswer, type RunRecordAnswer } from '../src/run-answer.ts';
import { get, read } from './api.ts';
import { searchQuery, type RunSearch } from './run-search.ts';

const foundRuns = z.array(foundRun);

export type RunList = { readonly runs: readonly FoundRun[]; readonly more: boolean };

/** Newest first, `most` at most, and whether there are more. */
export async function fetchRuns(search: RunSearch, zone: string, most: number): Promise<RunList> {
  const { data, headers } = await read(`/api/runs?${searchQuery(search, zone)}&limit=${most}`, foundRuns);
  return { runs: data, more: headers.get('x-more') === 'true' };
}

export const recordPath = (run: string): string => `/api/runs/${encodeURIComponent(run)}/record`;

export const fetchRunRecord = (run: string): Promise<RunRecordAnswer> => get(recordPath(run), runRecordAnswer);
