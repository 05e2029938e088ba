/** What the chamber page asks of the gateway about alarms beyond reading. */
import { alarmAcknowledged } from '../src/contract.ts';
import { post } from './api.ts';

/** `of`: the earlier activation meant; null for the last one. */
export type AskedAlarm = { readonly code: string; readonly of: number | null };

/** Answers the sentence to show; a refusal comes as an error with its cure. */
export async function acknowledgeAtChamber(chamber: string, { code, of }: AskedAlarm, by: string): Promise<string> {
  const path = `/api/chambers/${encodeURIComponent(chamber)}/alarms/${encodeURIComponent(code)}/acknowledge`;
  const read = alarmAcknowledged.safeParse(await (await post(path, of === null ? { by } : { by, of })).json());
  return read.success ? read.data.text : 'The gateway took it; reload the page to see what came of it.';
}
