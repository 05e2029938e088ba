/**
 * The store on SQLite: one file in the data folder, one thread that writes, one that reads. See store.ts for what is promised, schema.ts
 * for the tables, sqlite-worker.ts for how a write becomes durable.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { FAULT_CODES, Fault, type FaultCode } from '../../src/fault.ts';
import { eventId, type ChamberEvent, type StoredEvent } from '../../src/event.ts';
import type { DeviationCode } from '../../src/run-facts.ts';
import { DATABASE_FILE } from './sqlite-open.ts';
import type { Commit, Store, StoredRun } from './store.ts';
import type { Answer, Call, CommitRows, EventColumns, ReadCalls, WriteCalls } from './store-calls.ts';

type Calls = ReadCalls & WriteCalls & { close(): null };
type Thread = {
  call<K extends keyof Calls>(name: K, ...args: Parameters<Calls[K]>): Promise<ReturnType<Calls[K]>>;
  end(): Promise<void>;
};

/** Opens or makes the store in `folder`. Fails with a Fault whose sentence says the cure. */
export async function openSqlite(folder: string): Promise<Store> {
  const writer = await startThread(folder, 'write');
  const reader = await startThread(folder, 'read').catch(async (error: unknown) => {
    await writer.end();
    throw error;
  });
  return storeOn(reader, writer);
}

/** The store in `folder`, only read, also while a gateway writes it: every write fails. */
export async function readSqlite(folder: string): Promise<Store> {
  if (!existsSync(join(folder, DATABASE_FILE)))
    throw new Fault('not-found', `There is no ${DATABASE_FILE} in ${folder}. Name the data folder of a gateway with --data.`);
  const nobody: Thread = { call: () => Promise.reject(new Fault('internal', 'This store is only read.')), end: () => Promise.resolve() };
  return storeOn(await startThread(folder, 'read'), nobody);
}

function storeOn(reader: Thread, writer: Thread): Store {
  let closing: Promise<void> | null = null;
  return {
    append: async (commit) => withSeqs(commit.events, await writer.call('append', rowsOf(commit))),
    events: async (query) => storedEvents(await reader.call('events', query)),
    lastBefore: async (kind, before, chambers, upToSeq) => storedEvents(await reader.call('lastBefore', kind, before, chambers, upToSeq)),
    standing: async (span, chambers) => storedEvents(await reader.call('standing', span, chambers)),
    runs: async (query) => {
      const found = await reader.call('runs', query);
      return storedEvents(found).map((run, i) => ({ run: run as StoredRun['run'], deviations: codesOf(found.deviations[i] ?? null) }));
    },
    snapshots: async () => new Map(await reader.call('snapshots')),
    extent: () => reader.call('extent'),
    appendTraces: (segments) => writer.call('appendTraces', segments),
    replaceTraces: (merged) => writer.call('replaceTraces', merged),
    traces: (chamber, from, to) => reader.call('traces', chamber, from, to),
    forgetTraces: (before, mostMs = Infinity) => writer.call('forgetTraces', before, mostMs),
    alerts: (filter) => reader.call('alerts', filter),
    actOnAlert: (act) => writer.call('actOnAlert', act),
    acts: (alerts) => reader.call('acts', alerts),
    mutes: (at) => reader.call('mutes', at),
    allMutes: (limit) => reader.call('allMutes', limit),
    addMute: (mute) => writer.call('addMute', mute),
    endMute: (id, by) => writer.call('endMute', id, by),
    deliveries: (filter) => reader.call('deliveries', filter),
    saveDeliveries: (deliveries, audit = []) => writer.call('saveDeliveries', deliveries, audit),
    lastDelivered: async () => new Map(await reader.call('lastDelivered')),
    letters: (filter) => reader.call('letters', filter),
    addLetters: (letters) => writer.call('addLetters', letters),
    saveLetter: (letter) => writer.call('saveLetter', letter),
    audit: (limit) => reader.call('audit', limit),
    close: () => (closing ??= reader.end().then(() => writer.end())),
  };
}

function rowsOf(commit: Commit): CommitRows {
  return {
    events: commit.events.map((event) => [eventId(event), event.chamber, event.kind, event.at, JSON.stringify(event)]),
    snapshots: [...commit.snapshots],
    alerts: commit.alerts ?? [],
    deliveries: commit.deliveries ?? [],
    audit: commit.audit ?? [],
  };
}

function withSeqs(events: readonly ChamberEvent[], seqs: readonly (number | null)[]): StoredEvent[] {
  return events.flatMap((event, i) => {
    const seq = seqs[i];
    return seq === null || seq === undefined ? [] : [{ ...event, seq }];
  });
}

function storedEvents(columns: EventColumns): StoredEvent[] {
  const bodies = JSON.parse(columns.bodies) as ChamberEvent[];
  return bodies.map((event, i) => Object.assign(event, { seq: columns.seqs[i] as number }));
}

/** One text of codes parted by commas. */
const codesOf = (text: string | null): StoredRun['deviations'] =>
  text === null ? null : (text.split(',').filter(Boolean) as DeviationCode[]);

type Waiting = { readonly resolve: (value: never) => void; readonly reject: (fault: Fault) => void };

/** Starts a thread and waits until its database is open. */
async function startThread(folder: string, mode: 'write' | 'read'): Promise<Thread> {
  const worker = new Worker(new URL('./sqlite-worker.ts', import.meta.url), { workerData: { folder, mode } });
  const waiting = new Map<number, Waiting>();
  let ended: Fault | null = null;
  let lastId = 0;
  const endAll = (fault: Fault): void => {
    ended ??= fault;
    for (const { reject } of waiting.values()) reject(fault);
    waiting.clear();
  };
  worker.on('message', (answer: Answer) => {
    const asker = waiting.get(answer.id);
    waiting.delete(answer.id);
    if ('value' in answer) return asker?.resolve(answer.value as never);
    const fault = new Fault(codeOf(answer.fault.code), answer.fault.message);
    asker?.reject(fault);
    if (answer.broken) endAll(fault);
  });
  worker.on('error', (error: Error) =>
    endAll(new Fault('unavailable', `The store's thread failed: ${error.message}. Start again.`, error)),
  );
  worker.on('exit', () => endAll(new Fault('unavailable', 'The store is closed.')));
  const ask = (id: number, call: Call | null): Promise<never> =>
    new Promise((resolve, reject) => {
      if (ended !== null) return reject(ended);
      waiting.set(id, { resolve, reject });
      if (call !== null) worker.postMessage(call);
    });
  const call = (name: string, ...args: readonly unknown[]): Promise<never> => {
    lastId += 1;
    return ask(lastId, { id: lastId, call: name, args });
  };
  const end = async (): Promise<void> => {
    if (ended === null) await call('close');
    await worker.terminate();
  };
  await ask(0, null).catch(async (fault: unknown) => {
    await worker.terminate();
    throw fault;
  });
  return { call, end };
}

const codeOf = (code: string): FaultCode => FAULT_CODES.find((known) => known === code) ?? 'internal';
