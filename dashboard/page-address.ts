/** The pages and their addresses. */
export type Page =
  | { readonly name: 'wall' }
  | { readonly name: 'chamber'; readonly chamber: string; /** A moment of the past to show, null for now. */ readonly at: number | null }
  /** With the alert that a message linked to, or none. */
  | { readonly name: 'alerts'; readonly alert: string | null }
  | { readonly name: 'runs' }
  | { readonly name: 'run'; readonly run: string }
  | { readonly name: 'stops' }
  | { readonly name: 'health' }
  | { readonly name: 'week'; readonly week: string }
  | { readonly name: 'unknown' };

export function pageOf(path: string, search = ''): Page {
  const [first = '', second = '', ...more] = path.split('/').filter(Boolean);
  // Ids hold slashes, and some mail programs undo their encoding.
  if (first === 'alerts') return { name: first, alert: second ? decoded([second, ...more].join('/')) : null };
  if (first === 'run' && second) return { name: first, run: decoded([second, ...more].join('/')) };
  if (more.length > 0) return { name: 'unknown' };
  if (first === '') return { name: 'wall' };
  if (first === 'chamber' && second) return { name: 'chamber', chamber: decoded(second), at: momentOf(search) };
  if ((first === 'runs' || first === 'health') && !second) return { name: first };
  if (first === 'stops' && !second) return { name: first };
  // What the menu calls it.
  if (first === 'links' && !second) return { name: 'health' };
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

/** `?at=` in epoch ms; what is no such moment means now. */
function momentOf(search: string): number | null {
  const text = new URLSearchParams(search).get('at') ?? '';
  return /^\d{9,15}$/.test(text) ? Number(text) : null;
}
