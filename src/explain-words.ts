/** Figures in the sentences of an explanation. */
import type { Explanation, Term } from './explanation.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

type Unit = Explanation['unit'];

export function amountText(amount: number, unit: Unit): string {
  switch (unit) {
    case 'share':
      return `${(100 * amount).toFixed(2)} %`;
    case 'ms':
      return Math.abs(amount) >= 2 * HOUR_MS ? `${(amount / HOUR_MS).toFixed(2)} h` : `${(amount / MINUTE_MS).toFixed(2)} min`;
    case 'per 10 min':
      return `${amount.toFixed(3)} per 10 min`;
    case 'cycles':
      return `${amount.toFixed(1)} runs`;
    case 'count':
      return Number.isInteger(amount) ? String(amount) : amount.toFixed(2);
  }
}

const MOST_SHOWN = 6;

/** '(98.30 h run + 12.10 h load or unload)'. */
export function termText({ unit, amount, parts }: Term): string {
  const shown = parts.slice(0, MOST_SHOWN).map((part) => `${amountText(part.amount, unit)} ${part.label}`);
  if (shown.length < 2) return `${amountText(amount, unit)}${parts[0] ? ` ${parts[0].label}` : ''}`;
  const rest = parts.length - shown.length;
  return `(${shown.join(' + ')}${rest > 0 ? ` + ${rest} more` : ''}) = ${amountText(amount, unit)}`;
}

type Sum = Pick<Explanation, 'value' | 'unit' | 'scale' | 'numerator' | 'denominator' | 'low' | 'high'>;

export function workedText({ value, unit, scale, numerator, denominator, low, high }: Sum): string {
  const above = termText(numerator);
  if (!denominator) return above;
  const times = scale === 1 ? '' : ` x ${amountText(scale, 'ms')}`;
  const bounds = low !== null && high !== null ? `; it lies between ${amountText(low, unit)} and ${amountText(high, unit)}` : '';
  const least = low !== null && high === null ? `; at least ${amountText(low, unit)}` : '';
  const result = value === null ? `not stated${bounds}${least}` : amountText(value, unit);
  return `${above}${times}  /  ${termText(denominator)}  =  ${result}`;
}
