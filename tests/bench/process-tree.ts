/** What a program and all the processes it started cost, from Linux's /proc: processor time with all threads, resident memory. */
import { readdirSync, readFileSync } from 'node:fs';

export type ProcessCost = { readonly cpuS: number; readonly rssBytes: number; readonly processes: number };

/** USER_HZ is 100 on every Linux that Node runs on. */
const TICKS_PER_S = 100;
const PAGE_BYTES = 4096;

export function costOf(pid: number): ProcessCost {
  const parts = tree(pid).map(one);
  return { cpuS: sum(parts.map(({ cpuS }) => cpuS)), rssBytes: sum(parts.map(({ rssBytes }) => rssBytes)), processes: parts.length };
}

/** The process and its descendants. */
export function tree(pid: number): readonly number[] {
  const parents = readdirSync('/proc').flatMap((name) => (/^\d+$/.test(name) ? [[Number(name), Number(stat(name)[1] ?? 0)] as const] : []));
  const below = (parent: number): readonly number[] => [parent, ...parents.flatMap(([child, of]) => (of === parent ? below(child) : []))];
  return below(pid);
}

function one(pid: number): Omit<ProcessCost, 'processes'> {
  const fields = stat(`${pid}`).map(Number);
  return { cpuS: ((fields[11] ?? 0) + (fields[12] ?? 0)) / TICKS_PER_S, rssBytes: (fields[21] ?? 0) * PAGE_BYTES };
}

/** The fields after the name (which may hold anything), or none when the process has just ended. */
function stat(pid: string): readonly string[] {
  try {
    return readFileSync(`/proc/${pid}/stat`, 'utf8')
      .replace(/^.*\) /s, '')
      .split(' ');
  } catch {
    return [];
  }
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, number) => total + number, 0);
