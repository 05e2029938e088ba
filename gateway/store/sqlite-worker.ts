/**
 * The store's thread, because SQLite's calls block. It takes every call that waits and commits neighbouring writes together: one fsync pays
 * for all of them, and each is answered only after it. A write that failed is never tried again here: a second fsync may succeed without
 * the data (the PostgreSQL lesson of 2018), so the database is closed and every later call is refused.
 */
import { parentPort, receiveMessageOnPort, workerData } from 'node:worker_threads';
import { Fault } from '../../src/fault.ts';
import { transaction } from './schema.ts';
import { openReader, openWriter, storeFault, type OpenDatabase } from './sqlite-open.ts';
import { readCalls } from './sqlite-read.ts';
import { writeCalls } from './sqlite-write.ts';
import type { Answer, Call } from './store-calls.ts';

const { folder, mode } = workerData as { folder: string; mode: 'write' | 'read' };
const port = parentPort;
if (port === null) throw new Error('sqlite-worker.ts is started by sqlite.ts, never alone');

type Function = (...args: readonly never[]) => unknown;
let opened: OpenDatabase | null = null;
let reads: Record<string, Function> = {};
let writes: Record<string, Function> = {};
let broken: Fault | null = null;

try {
  opened = mode === 'write' ? openWriter(folder) : openReader(folder);
  if (mode === 'write') writes = writeCalls(opened.db);
  else reads = readCalls(opened.db);
  port.postMessage({ id: 0, value: null } satisfies Answer);
} catch (error) {
  const fault = storeFault(folder, error);
  port.postMessage({ id: 0, fault: { code: fault.code, message: fault.message }, broken: true } satisfies Answer);
}

port.on('message', (first: Call) => {
  const calls = [first];
  for (let next = receiveMessageOnPort(port); next !== undefined; next = receiveMessageOnPort(port)) calls.push(next.message as Call);
  for (const group of neighbours(calls)) runGroup(group);
});

/** Appends next to each other share a transaction; everything else goes alone. */
function neighbours(calls: readonly Call[]): Call[][] {
  const groups: Call[][] = [];
  for (const call of calls) {
    const last = groups.at(-1);
    if (call.call === 'append' && last?.[0]?.call === 'append') last.push(call);
    else groups.push([call]);
  }
  return groups;
}

function runGroup(group: readonly Call[]): void {
  try {
    if (broken !== null) throw broken;
    if (group[0]?.call === 'close') return close(group[0]);
    if (opened === null) throw new Fault('unavailable', 'The store is closed.');
    const values =
      mode === 'write' ? transaction(opened.db, () => group.map((call) => run(writes, call))) : group.map((call) => run(reads, call));
    group.forEach((call, i) => port?.postMessage({ id: call.id, value: values[i] } satisfies Answer));
  } catch (error) {
    refuse(group, error);
  }
}

function run(calls: Record<string, Function>, call: Call): unknown {
  const known = calls[call.call];
  if (known === undefined) throw new Fault('internal', `The store knows no call ${call.call}.`);
  return known(...(call.args as never[]));
}

function refuse(group: readonly Call[], error: unknown): void {
  const fault = storeFault(folder, error);
  if (!(error instanceof Fault)) {
    broken = fault;
    try {
      opened?.close();
    } catch {
      // Already beyond help: what matters is that nobody writes to it again.
    }
    opened = null;
  }
  const answer = { fault: { code: fault.code, message: fault.message }, broken: broken !== null };
  for (const call of group) port?.postMessage({ id: call.id, ...answer } satisfies Answer);
}

function close(call: Call): void {
  if (mode === 'write') opened?.db.exec('pragma wal_checkpoint(truncate)');
  opened?.close();
  opened = null;
  port?.postMessage({ id: call.id, value: null } satisfies Answer);
  port?.close();
}
