/**
 * One text for one value, whoever writes it: what a digest is taken of. In the manner of RFC 8785 (JSON Canonicalization Scheme).
 * [JC1] Members of an object are in order of their names by UTF-16 code units, at every depth; lists keep their order; no space is added.
 * [JC2] Numbers and strings are written as ECMAScript's JSON.stringify writes them (RFC 8785 3.2.2.2, 3.2.2.3); minus zero is 0.
 * [JC3] What JSON cannot say (a number without value, a half of a character pair, undefined in a list) is refused; a member that is undefined is absent.
 */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (typeof value === 'object' && value !== null) return `{${members(value as Members).join(',')}}`;
  return scalar(value);
}

type Members = Readonly<Record<string, unknown>>;

/** [JC1] `<` compares by UTF-16 code units. */
function members(value: Members): string[] {
  const names = Object.keys(value).filter((name) => value[name] !== undefined);
  return names.sort((a, b) => (a < b ? -1 : 1)).map((name) => `${scalar(name)}:${canonical(value[name])}`);
}

/** [JC2] [JC3] */
function scalar(value: unknown): string {
  const isKnown = value === null || typeof value === 'boolean' || isNumber(value) || isText(value);
  if (!isKnown) throw new Error(`no canonical text for a ${typeof value}`);
  return JSON.stringify(value);
}

const isNumber = (value: unknown): boolean => typeof value === 'number' && Number.isFinite(value);
const isText = (value: unknown): boolean => typeof value === 'string' && value.isWellFormed();
