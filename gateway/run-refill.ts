/**
 * After a restart in the middle of a run: what its instruments told before is read back from the recorded traces, its alarms from the books.
 * Up to a minute may not have been written; from the last word that was, nobody knows.
 */
import type { ChamberState } from '../src/chamber-state.ts';
import { RECORD_SIGNALS } from '../src/run-record-input.ts';
import { HOUR_MS } from '../src/zone.ts';
import type { RunSamples } from './run-samples.ts';
import type { EventStore } from './store/store.ts';
import type { TraceRecorder } from './trace-recorder.ts';

type RefillParts = { readonly samples: RunSamples; readonly store: EventStore; readonly recorder: Pick<TraceRecorder, 'read'> };

/** Before the first live reading is observed. */
export async function refillRuns({ samples, store, recorder }: RefillParts): Promise<void> {
  for (const [chamber, text] of await store.snapshots()) {
    const state = (JSON.parse(text) ?? {}) as Partial<ChamberState>;
    if (state.run == null || state.now === undefined || samples.knows(chamber)) continue;
    const from = state.run.startedAt;
    // What held when the run began was told within the hour before.
    const trace = await recorder.read({ chamber, signals: RECORD_SIGNALS, from: from - HOUR_MS, to: state.now + 1 });
    const knownTo = trace.signals.reduce((last, { at }) => Math.max(last, at.at(-1) ?? 0), from);
    const told = await store.events({ chambers: [chamber], kinds: ['alarm', 'finding'], from });
    samples.refill(chamber, { trace, knownTo, told });
  }
}
