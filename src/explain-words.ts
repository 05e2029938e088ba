/** Amounts and the sentence with figures of an explanation: one piece of code for panel, API and paper. */
import type { AmountUnit, Explanation, Term } from './explanation.ts';
import { displayed, isUnit, standardLitres } from './units.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

export type SiteUnits = Explanation['units'];
export const SI_UNITS: SiteUnits = { pressure: 'Pa', flow: 'mol/s' };

const WATT_HOUR_J = 3600;
const PER_MINUTE = 60;

export function amountText(amount: number, unit: AmountUnit, site: SiteUnits = SI_UNITS): string {
  switch (unit) {
    case 'share':
      return `${(100 * amount).toFixed(2)} %`;
    case 'ms':
      return timeText(amount);
    case 's':
      return `${amount.toFixed(Math.abs(amount) < 100 ? 1 : 0)} s`;
    case 'per 10 min':
    case 'per hour':
    case 'per day':
      return `${amount.toFixed(3)} ${unit}`;
    case 'cycles':
      return `${amount.toFixed(1)} runs`;
    case 'count':
      return Number.isInteger(amount) ? String(amount) : amount.toFixed(2);
    default:
      return quantityText(amount, unit, site);
  }
}

function timeText(ms: number): string {
  const size = Math.abs(ms);
  if (size >= 2 * HOUR_MS) return `${(ms / HOUR_MS).toFixed(2)} h`;
  return size >= 2 * MINUTE_MS || size === 0 ? `${(ms / MINUTE_MS).toFixed(2)} min` : `${(ms / 1000).toFixed(1)} s`;
}

function quantityText(si: number, unit: 'J' | 'Pa' | 'Pa/s' | 'mol' | 'mol/s' | 'W' | 'ratio', site: SiteUnits): string {
  switch (unit) {
    case 'J':
      return `${(si / WATT_HOUR_J).toFixed(Math.abs(si) < 100 * WATT_HOUR_J ? 1 : 0)} Wh`;
    case 'mol':
      return `${standardLitres(si).toFixed(2)} L`;
    case 'W':
      return `${si.toFixed(0)} W`;
    case 'ratio':
      return si.toFixed(2);
    case 'Pa/s':
      return `${inUnit(si * PER_MINUTE, site.pressure)}/min`;
    default:
      return inUnit(si, unit === 'Pa' ? site.pressure : site.flow);
  }
}

const inUnit = (si: number, unit: string): string => (isUnit(unit) ? displayed(si, unit) : `${si} ${unit}`);

const MOST_SHOWN = 6;

/** '(98.30 h run + 12.10 h load or unload)'. */
function termText({ unit, amount, parts }: Term, site?: SiteUnits): string {
  const shown = parts.slice(0, MOST_SHOWN).map((part) => `${amountText(part.amount, unit, site)} ${part.label}`);
  if (shown.length < 2) return `${amountText(amount, unit, site)}${parts[0] ? ` ${parts[0].label}` : ''}`;
  const rest = parts.length - shown.length;
  return `(${shown.join(' + ')}${rest > 0 ? ` + ${rest} more` : ''}) = ${amountText(amount, unit, site)}`;
}

type Sum = Pick<Explanation, 'value' | 'unit' | 'scale' | 'numerator' | 'denominator' | 'low' | 'high'>;

export function workedText(sum: Sum, site?: SiteUnits): string {
  const { value, unit, scale, numerator, denominator, low, high } = sum;
  const text = (amount: number): string => amountText(amount, unit, site);
  const bounds = low !== null && high !== null ? `; it lies between ${text(low)} and ${text(high)}` : '';
  const least = low !== null && high === null ? `; at least ${text(low)}` : '';
  const result = value === null ? `not stated${bounds}${least}` : text(value);
  if (!numerator) return result;
  const above = termText(numerator, site);
  if (!denominator) return above;
  const times = scale === 1 ? '' : ` x ${amountText(scale, 'ms')}`;
  return `${above}${times}  /  ${termText(denominator, site)}  =  ${result}`;
}
