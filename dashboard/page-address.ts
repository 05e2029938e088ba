/** The pages and their addresses. */
export type Page =
  | { readonly name: 'wall' }
  | { readonly name: 'chamber'; readonly chamber: string; /** A moment of the past to show, null for now. */ readonly at: number | null }
  /** With the alert that a message linked to, or none. */
  | { readonly name: 'alerts'; readonly alert: string | null }
  | { readonly name: 'alarms' }
  | { readonly name: 'runs' }
  | { readonly name: 'run'; readonly run: string }
  | { readonly name: 'stops' }
  /** The fleet, or the chart of one figure of a chamber; null: the one that stands out most. */
  | { readonly name: 'drift'; readonly chart: DriftChoice | null }
  | { readonly name: 'health' }
  | { readonly name: 'week'; readonly week: string }
  | { readonly name: 'unknown' };

export type DriftChoice = {
  readonly chamber: string;
  readonly recipe: string | null;
  readonly measure: string | null;
  readonly line: string | null;
};

export function pageOf(path: string, search = ''): Page {
  const [first = '', second = '', ...more] = path.split('/').filter(Boolean);
  // Ids hold slashes, and some mail programs undo their encoding.
  if (first === 'alerts') return { name: first, alert: second ? decoded([second, ...more].join('/')) : null };
  if (first === 'run' && second) return { name: first, run: decoded([second, ...more].join('/')) };
  if (more.length > 0) return { name: 'unknown' };
  if (first === '') return { name: 'wall' };
  if (first === 'chamber' && second) return { name: 'chamber', chamber: decoded(second), at: momentOf(search) };
  if ((first === 'runs' || first === 'health') && !second) return { name: first };
  if ((first === 'stops' || first === 'alarms') && !second) return { name: first };
  if (first === 'drift' && !second) return { name: first, chart: driftChoice(new URLSearchParams(search)) };
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

function driftChoice(asked: URLSearchParams): DriftChoice | null {
  const chamber = asked.get('chamber');
  return chamber === null ? null : { chamber, recipe: asked.get('recipe'), measure: asked.get('measure'), line: asked.get('line') };
}

/** The address of one chart. */
export function driftAddress({ chamber, recipe, measure, line }: DriftChoice): string {
  const named = Object.entries({ chamber, recipe, measure, line }).filter((each): each is [string, string] => each[1] !== null);
  return `/drift?${new URLSearchParams(named)}`;
}
