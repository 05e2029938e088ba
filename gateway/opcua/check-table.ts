/** What the live check says: one line per tag, alarm and server, shown as a table. */

export type Verdict = 'ok' | 'warning' | 'fault';
export type CheckLine = {
  readonly verdict: Verdict;
  readonly server: string;
  /** Empty for the server itself. */
  readonly chamber: string;
  readonly signal: string;
  /** What was seen, and where something is off, the cure. */
  readonly text: string;
};

const ORDER: Readonly<Record<Verdict, number>> = { fault: 0, warning: 1, ok: 2 };

/** The lines as a table: what is off first. */
export function checkTable(lines: readonly CheckLine[]): string {
  const sorted = lines.toSorted((a, b) => ORDER[a.verdict] - ORDER[b.verdict]);
  const place = ({ server, chamber, signal }: CheckLine): string => (chamber === '' ? server : `${chamber} ${signal}`);
  const width = Math.min(48, Math.max(...sorted.map((line) => place(line).length)));
  const count = (verdict: Verdict): number => lines.filter((line) => line.verdict === verdict).length;
  const rows = sorted.map(
    (line) => `${line.verdict.padEnd(8)} ${place(line).padEnd(width)}  ${line.text.replaceAll(/[^\x20-\x7e\u00a0-\u024f]+/g, ' ')}`,
  );
  const some = (verdict: Verdict): string => `${count(verdict)} ${verdict}${count(verdict) === 1 ? '' : 's'}`;
  return [...rows, '', `${some('fault')}, ${some('warning')}, ${count('ok')} in order.`].join('\n');
}
