/** What is answered about the site file: which is in force, why the one on disk is not, and what was changed when. */
import * as z from 'zod/mini';

const siteChange = z.object({ kind: z.enum(['added', 'removed', 'changed']), what: z.string(), text: z.string() });
const siteTaking = z.object({ at: z.int(), by: z.string(), changes: z.array(siteChange) });

export const siteAnswer = z.object({
  file: z.string(),
  chambers: z.int(),
  servers: z.int(),
  /** Why the file as it is written is not in force, a line per fault; null when it is. */
  faults: z.nullable(z.object({ at: z.int(), lines: z.array(z.string()) })),
  /** Newest first. */
  takings: z.array(siteTaking),
  /** Chambers that the file had before, and until when: their history can still be read. */
  former: z.array(z.object({ chamber: z.string(), until: z.int() })),
});
export type SiteAnswer = z.infer<typeof siteAnswer>;

/** What a reading of the file changed; links by what became of them. */
export const siteReload = z.object({
  changes: z.array(siteChange),
  links: z.object({ kept: z.array(z.string()), renewed: z.array(z.string()), begun: z.array(z.string()), ended: z.array(z.string()) }),
});
export type SiteReload = z.infer<typeof siteReload>;
