/**
 * A server's engineering unit in our words. The OPC UA unit table (OPC 10000-8 5.6.4.3, UNECE Recommendation 20) is known by its numbers; it has
 * no row for mTorr, sccm, slm and none for percent, so that servers name those by text, if at all.
 */
import type { Unit } from '../../src/units.ts';

/** unitId: the bytes of the UNECE code read as one number, such as PAL = 5259596. */
const BY_ID: Readonly<Record<number, Unit>> = {
  5259596: 'Pa',
  4935745: 'kPa',
  5063250: 'mbar',
  4274487: 'mbar', // hPa
  4342098: 'bar',
  21825: 'Torr', // UA
  5723220: 'W',
  4937556: 'kW',
  4408652: 'degC',
  4932940: 'K',
  5457219: 's',
  5065038: 'min',
  4740434: 'h',
  19506: 'L/min',
  4536629: 'mol/s', // E95
  4404786: '1', // C62
  20529: 'percent', // P1, which the table lacks and servers use
};
const BY_TEXT: Readonly<Record<string, Unit>> = {
  pa: 'Pa',
  kpa: 'kPa',
  mbar: 'mbar',
  hpa: 'mbar',
  bar: 'bar',
  torr: 'Torr',
  mtorr: 'mTorr',
  w: 'W',
  kw: 'kW',
  '°c': 'degC',
  degc: 'degC',
  c: 'degC',
  k: 'K',
  s: 's',
  sec: 's',
  min: 'min',
  h: 'h',
  hr: 'h',
  sccm: 'sccm',
  slm: 'slm',
  slpm: 'slm',
  'l/min': 'L/min',
  'mol/s': 'mol/s',
  '%': 'percent',
  percent: 'percent',
};

type EngineeringUnit = {
  readonly unitId?: number;
  readonly displayName?: { readonly text?: string | null };
  readonly description?: { readonly text?: string | null };
};

/** The text goes first: it is what people at the machine read, and some numbers stand for another unit than servers mean. */
export function unitOf(unit: EngineeringUnit | null): { readonly known: Unit | null; readonly text: string | null } {
  if (unit === null) return { known: null, text: null };
  const text = unit.displayName?.text?.trim() || unit.description?.text?.trim() || null;
  const byText = text === null ? undefined : BY_TEXT[text.toLowerCase()];
  return { known: byText ?? BY_ID[unit.unitId ?? -1] ?? null, text: text ?? BY_ID[unit.unitId ?? -1] ?? null };
}

const IN_BRACKETS = /[[(]\s*([^\])]{1,12}?)\s*[\])]/g;

/** A unit that a description names in brackets, as programmers do where the server leaves the property out: `Chamber pressure [mbar]`. */
export function unitInText(description: string): { readonly known: Unit; readonly text: string } | null {
  for (const [, text = ''] of description.matchAll(IN_BRACKETS)) {
    const known = BY_TEXT[text.toLowerCase()];
    if (known !== undefined) return { known, text };
  }
  return null;
}
