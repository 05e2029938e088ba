/** Asks how a number came about. */
import { explanation, type Explanation } from '../src/explanation.ts';
import { get } from './api.ts';

export type Question = { readonly number: string; readonly chamber: string | null };
export type Span = { readonly week: string } | { readonly from: number; readonly to: number };

export function fetchExplanation(
  { number, chamber }: Question,
  span: Span,
  page: { readonly offset: number; readonly limit: number },
): Promise<Explanation> {
  const asked = { number, ...(chamber === null ? {} : { chamber }), ...span, ...page };
  const words = Object.entries(asked).map(([key, value]): [string, string] => [key, String(value)]);
  return get(`/api/explain?${new URLSearchParams(words)}`, explanation);
}
