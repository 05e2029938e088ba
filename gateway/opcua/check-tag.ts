/** One tag of the site file against what its node said: is it there, may it be read, does its type and unit fit, how often is it sampled. */
import type { DataValue } from 'node-opcua';
import type { SiteFile, TagBinding } from '../../src/config.ts';
import { isSignalName } from '../../src/signal.ts';
import { qualityOf, templateOf, valueFor, type TagNode, type TagTarget } from '../../src/tag-map.ts';
import { siUnitOf } from '../../src/units.ts';
import type { CheckLine } from './check-table.ts';
import { bitsOf, rawValue } from './raw-value.ts';
import { WANTED_MS } from './sampling-rates.ts';
import type { unitOf } from './unit-of.ts';

const LONGEST_VALUE = 40;
const DIGITS = 5;

export type Tag = { readonly node: TagNode; readonly nodeId: string | null };
export type Seen = {
  readonly value: DataValue | undefined;
  readonly unit: ReturnType<typeof unitOf> | null;
  readonly rateMs: number | null;
};
type Judged = Pick<CheckLine, 'verdict' | 'text'>;

export function tagLine(site: SiteFile, { node, nodeId, target, seen }: Tag & { target: TagTarget; seen: Seen }): Judged {
  const fault = (text: string): Judged => ({ verdict: 'fault', text });
  if (nodeId === null) return fault(`The server has no namespace of ${node.node}. Look with discover, and correct the node.`);
  const { value, unit, rateMs } = seen;
  if (value === undefined) return fault(`Nothing was answered for ${node.node}.`);
  const status = value.statusCode.name;
  if (/NodeId(Unknown|Invalid)|BadNotFound/.test(status))
    return fault(`There is no node ${node.node}. Look with discover, and correct it.`);
  if (/AccessDenied|NotReadable/.test(status)) return fault(`It may not be read by this user (${status}). Allow reading at the server.`);
  const raw = rawValue(value.value);
  const shown = shownValue(raw);
  if (qualityOf(value.statusCode.value) === 'bad')
    return { verdict: 'warning', text: `Bad at the moment (${status}). Look at the instrument.` };
  if (typeof raw === 'number' && !Number.isFinite(raw))
    return { verdict: 'warning', text: `${shown} at the moment. Look at the instrument; if none is fitted, take the tag out.` };
  const bits = bitsOf(value.value.dataType);
  const converted = valueFor(target, raw, bits);
  if (converted === undefined && target.bit !== null) return fault(noBit(shown, target.bit, bits));
  if (converted === undefined) return fault(`Its value "${shown}" cannot be this signal. Correct the node, or give it words or a scale.`);
  const wrongUnit = unitFault(site, target, unit);
  if (wrongUnit !== null) return fault(wrongUnit);
  const wanted = WANTED_MS[node.sampling];
  if (rateMs !== null && rateMs > 2 * wanted)
    return { verdict: 'warning', text: `${shown}, but sampled every ${rateMs} ms instead of ${wanted}: short events will be missed.` };
  const own = bindingOf(site, target);
  if (unit?.text && unit.known === null && own?.unit !== undefined)
    return {
      verdict: 'warning',
      text: `${shown} ${unit.text}: this unit is not known here, and it is taken as ${own.unit}. Compare with the machine's screen.`,
    };
  if (target.bit !== null) return { verdict: 'ok', text: `bit ${target.bit} of ${shown}, taken as ${String(converted)}` };
  const takenAs = own?.words !== undefined || own?.inverted === true ? String(converted) : unit?.text ? undefined : own?.unit;
  return { verdict: 'ok', text: `${shown}${unit?.text ? ` ${unit.text}` : ''}${takenAs === undefined ? '' : `, taken as ${takenAs}`}` };
}

function noBit(shown: string, bit: number, bits: number): string {
  if (bit < bits) return `Its value "${shown}" is no whole number, so it has no bits. Correct the node.`;
  return `Its value "${shown}" has ${bits === 0 ? 'no bits' : `${bits} bit${bits === 1 ? '' : 's'}`}, and bit ${bit} is asked for; the lowest is 0. Correct the bit or the node.`;
}

const shownValue = (raw: ReturnType<typeof rawValue>): string =>
  (typeof raw === 'number' && Number.isFinite(raw) && !Number.isInteger(raw) ? String(Number(raw.toPrecision(DIGITS))) : String(raw)).slice(
    0,
    LONGEST_VALUE,
  );

function bindingOf(site: SiteFile, { chamber, signal }: TagTarget): TagBinding | undefined {
  const own = site.chambers.find(({ id }) => id === chamber);
  if (own === undefined || !isSignalName(signal)) return undefined;
  return own.tags?.[signal] ?? templateOf(site, own).tags[signal];
}

/** What the server says the unit is, against what the site file says. */
function unitFault(site: SiteFile, target: TagTarget, unit: Seen['unit']): string | null {
  const binding = bindingOf(site, target);
  if (unit?.known == null) return null;
  const told = binding?.unit;
  if (told === undefined || told === unit.known || binding?.scale !== undefined) return null;
  if (told === 'percent-of-full-scale' && unit.known === 'percent') return null;
  const isOther = siUnitOf(told) !== siUnitOf(unit.known);
  return `The site file says ${told}, the server says ${unit.text ?? unit.known}${isOther ? ', which measures something else' : ''}. Compare with the machine's screen and correct one of them.`;
}
