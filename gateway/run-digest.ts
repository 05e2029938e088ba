/**
 * The seal on a run: SHA-256 over the canonical text of the run's fact and its record. Whoever holds the JSON can compute it again; a later
 * change to either is seen. It proves no author: who can write the store can also seal anew.
 */
import { createHash } from 'node:crypto';
import { canonical } from '../src/canonical.ts';
import type { RunEnded } from '../src/event.ts';
import type { RunRecord } from '../src/run-facts.ts';

/** Of exactly the fact's own members: where the store put it is no part of it. */
export function runDigest({ seq: _seq, ...run }: RunEnded & { readonly seq?: number }, record: RunRecord): string {
  return createHash('sha256').update(canonical({ record, run }), 'utf8').digest('hex');
}
