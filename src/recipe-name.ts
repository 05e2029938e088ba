/**
 * [RC1] A recipe is an engineering recipe when its whole name matches one of the site's patterns; `*` stands for any characters.
 */
export function matchesAny(name: string | null, patterns: readonly string[]): boolean {
  return name !== null && patterns.some((pattern) => matches(name, pattern));
}

function matches(name: string, pattern: string): boolean {
  const [first = '', ...rest] = pattern.split('*');
  if (rest.length === 0) return name === pattern;
  if (!name.startsWith(first)) return false;
  const last = rest.pop() ?? '';
  let at = first.length;
  for (const part of rest) {
    const found = name.indexOf(part, at);
    if (found < 0) return false;
    at = found + part.length;
  }
  return name.length - last.length >= at && name.endsWith(last);
}
