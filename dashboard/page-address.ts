/** The pages and their addresses. */
export type Page =
  | { readonly name: 'wall' }
  | { readonly name: 'chamber'; readonly chamber: string }
  | { readonly name: 'alerts' }
  | { readonly name: 'runs' }
  | { readonly name: 'health' }
  | { readonly name: 'week'; readonly week: string }
  | { readonly name: 'unknown' };

export function pageOf(path: string): Page {
  const [first = '', second = '', ...more] = path.split('/').filter(Boolean);
  if (more.length > 0) return { name: 'unknown' };
  if (first === '') return { name: 'wall' };
  if (first === 'chamber' && second) return { name: 'chamber', chamber: decoded(second) };
  if ((first === 'alerts' || first === 'runs' || first === 'health') && !second) return { name: first };
  if (first === 'week') return { name: 'week', week: second ? decoded(second) : 'current' };
  return { name: 'unknown' };
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
