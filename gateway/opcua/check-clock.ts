/** What the live check says of a server itself: is its clock right, and how long does its certificate last. */
import type { DataValue } from 'node-opcua';
import { expirySentence } from '../../src/certificate-expiry.ts';
import type { CheckLine } from './check-table.ts';
import type { ServerPart } from './client.ts';

export function serverLines(
  server: ServerPart,
  { values, validTo, now }: { values: readonly DataValue[]; validTo: number | null; now: number },
): CheckLine[] {
  const at = { server: server.name, chamber: '', signal: '' };
  const newest = values.reduce((latest, { sourceTimestamp }) => Math.max(latest, sourceTimestamp?.getTime() ?? 0), 0);
  const offS = (newest - now) / 1000;
  const clock: CheckLine =
    newest === 0
      ? {
          ...at,
          verdict: 'warning',
          text: 'No value bears a time of its own: times will be those of receipt. Switch source timestamps on at the server if it has them.',
        }
      : Math.abs(offS) > server.skewToleranceS
        ? {
            ...at,
            verdict: 'warning',
            text: `The newest value is stamped ${Math.abs(offS).toFixed(0)} s ${offS < 0 ? 'ago' : 'ahead'}: set the controller's clock, or its times will not be believed.`,
          }
        : { ...at, verdict: 'ok', text: `The clock is right to ${Math.max(1, Math.abs(offS)).toFixed(0)} s.` };
  const expiry = validTo === null ? null : expirySentence({ whose: 'server', server: server.name, validTo }, now);
  return [clock, ...(expiry === null ? [] : [{ ...at, verdict: 'warning' as const, text: expiry }])];
}
