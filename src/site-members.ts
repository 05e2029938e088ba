/**
 * Which chambers belonged to the site when: so that a chamber added today makes no week of the past worse, and one taken out keeps its history.
 * [SM1] The chambers of the first site file ever read belong to it from ever; one that is added later belongs to it from then on.
 * [SM2] One that is taken out belongs to it until then, and what the site file last said of it is kept. Added again, it belongs to it anew.
 * [SM3] A window concerns the chambers that belonged to the site at any time of it: the present ones in the site's order, then those gone.
 */
import type { SiteFile } from './config.ts';

/** Null: from ever, or to this day. */
type Belonging = { readonly from: number | null; readonly until: number | null };
type Chamber = SiteFile['chambers'][number];
export type Member = {
  readonly id: string;
  readonly spans: readonly Belonging[];
  /** The last word of the site file, of a chamber that is gone. */
  readonly last: { readonly chamber: Chamber; readonly template: SiteFile['templates'][string] } | null;
};
type MemberSite = Pick<SiteFile, 'chambers' | 'templates'>;

/** [SM1] */
export const firstMembers = ({ chambers }: MemberSite): readonly Member[] =>
  chambers.map(({ id }) => ({ id, spans: [{ from: null, until: null }], last: null }));

/** [SM1] [SM2] `members` are those of the site `before`. */
export function membersAfter(
  members: readonly Member[],
  { before, after, at }: { before: MemberSite; after: MemberSite; at: number },
): readonly Member[] {
  const known = new Map(members.map((member) => [member.id, member]));
  const present = after.chambers.map(({ id }) => joined(known.get(id) ?? { id, spans: [], last: null }, at));
  const gone = members.filter(({ id }) => !after.chambers.some((chamber) => chamber.id === id));
  return [...present, ...gone.map((member) => left(member, before, at))];
}

const isPresent = ({ spans }: Member): boolean => spans.at(-1)?.until === null;

function joined(member: Member, at: number): Member {
  return isPresent(member) ? member : { ...member, spans: [...member.spans, { from: at, until: null }], last: null };
}

function left(member: Member, { chambers, templates }: MemberSite, at: number): Member {
  const chamber = chambers.find(({ id }) => id === member.id);
  const template = chamber && templates[chamber.template];
  if (!isPresent(member) || chamber === undefined || template === undefined) return member;
  return { ...member, spans: member.spans.with(-1, { from: member.spans.at(-1)?.from ?? null, until: at }), last: { chamber, template } };
}

/** [SM3] */
export const membersDuring = (members: readonly Member[], { from, to }: { from: number; to: number }): readonly string[] =>
  members.filter(({ spans }) => spans.some((span) => (span.from ?? -Infinity) < to && (span.until ?? Infinity) > from)).map(({ id }) => id);
