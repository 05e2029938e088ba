/**
 * When a page calls out loud: a high alert that is open, that nobody saw or took, that nobody muted, and of which no wider alert tells. Once each.
 * What stood already when the page was opened calls nobody.
 */
import type { AlertBrief } from '../src/contract.ts';
import { groupOf } from './inbox.ts';

export type Called = { readonly known: ReadonlySet<string>; readonly calls: readonly AlertBrief[] };

export function newCalls(known: ReadonlySet<string> | null, alerts: readonly AlertBrief[], now: number): Called {
  const calling = alerts.filter((one) => one.severity === 'high' && groupOf(one, { me: '', now }) === 'new');
  const calls = known === null ? [] : calling.filter(({ id }) => !known.has(id));
  // What is over and gone from the list cannot call again: a page may stand open for months.
  const kept = alerts.filter(({ id }) => known?.has(id));
  return { known: new Set([...kept, ...calling].map(({ id }) => id)), calls };
}
