/**
 * The gateway's own troubles, those that a person can do something about before data is lost, or because it was.
 * [GF1] Told are: a disk with little room left, one that cannot be looked at, a store that takes long to commit, link processes that died, values
 *       that were dropped, and messages that were given up. A server that is away is told as chambers without data.
 * [GF2] What only counts up is told for as long as it went on counting within the last ten minutes (link processes: the last hour).
 */
import type { Finding } from './alert-finding.ts';

export type GatewaySight = {
  /** `unread` is the code with which the system refused to say; a size of nothing says nothing. */
  readonly disk: { readonly freeBytes: number; readonly sizeBytes: number } | { readonly unread: string };
  /** The longest commit since the last look. */
  readonly slowestCommitMs: number;
  /** Within the last hour. */
  readonly linkDeaths: number;
  /** Within the last ten minutes: facts lost, and values that only live pages show. */
  readonly droppedFacts: number;
  readonly droppedLive: number;
  /** Messages given up and neither sent again nor set aside, by route. */
  readonly dead: readonly { readonly route: string; readonly count: number; readonly lastError: string | null }[];
};
type Limits = { readonly diskFreePercent: number; readonly storeSlowS: number };

const RULE = 'alerts.rules.gateway';

/** [GF1] [GF2] */
export function gatewayFindings(sight: GatewaySight, limits: Limits): readonly Finding[] {
  return [diskFull(sight, limits), storeSlow(sight, limits), linkDied(sight), dropped(sight), ...givenUp(sight)].filter(
    (one) => one !== null,
  );
}

const trouble = (subject: string, headline: string, rest: Pick<Finding, 'rule' | 'cure' | 'over'>): Finding => ({
  ...{ subject, chamber: null, headline, facts: [] },
  ...rest,
});

function diskFull({ disk }: GatewaySight, { diskFreePercent }: Limits): Finding | null {
  if ('unread' in disk) return diskUnread(disk.unread);
  if (disk.sizeBytes <= 0) return null;
  const percent = (100 * disk.freeBytes) / disk.sizeBytes;
  if (percent >= diskFreePercent) return null;
  const gigabytes = (disk.freeBytes / 1e9).toFixed(1);
  return trouble(
    'disk',
    `The disk of the data folder has ${percent.toFixed(1)} % free (${gigabytes} GB). When it is full, facts are lost.`,
    {
      rule: `less than ${diskFreePercent} % free (${RULE})`,
      cure: 'Make room on that disk, or move the data folder to a larger one.',
      over: 'Over: the disk of the data folder has room again.',
    },
  );
}

const diskUnread = (code: string): Finding =>
  trouble('disk', `The disk of the data folder cannot be looked at (${code}). Whether there is room on it is not known.`, {
    rule: `the room on the disk cannot be read (${RULE})`,
    cure: 'Look whether the disk or the network drive of the data folder is there, and whether the gateway may read it.',
    over: 'Over: the disk of the data folder can be looked at again.',
  });

function storeSlow({ slowestCommitMs }: GatewaySight, { storeSlowS }: Limits): Finding | null {
  if (slowestCommitMs < storeSlowS * 1000) return null;
  return trouble('store', `A commit to the store took ${(slowestCommitMs / 1000).toFixed(1)} s. Screens lag behind the plant by as much.`, {
    rule: `a commit takes longer than ${storeSlowS} s (${RULE})`,
    cure: 'Look for what else uses that disk: backups, virus scanners, a disk about to fail.',
    over: 'Over: the store commits in time again.',
  });
}

function linkDied({ linkDeaths }: GatewaySight): Finding | null {
  if (linkDeaths === 0) return null;
  const times = linkDeaths === 1 ? 'once' : `${linkDeaths} times`;
  return trouble('link', `A link process ended unexpectedly ${times} within the hour. Its chambers were unobserved meanwhile.`, {
    rule: `a link process ends unexpectedly (${RULE})`,
    cure: 'The page Links names the server whose process ended and why. Keep the log for whoever looks after the gateway.',
    over: 'Over: no link process ended for an hour.',
  });
}

function dropped({ droppedFacts, droppedLive }: GatewaySight): Finding | null {
  if (droppedFacts + droppedLive === 0) return null;
  const what =
    droppedFacts > 0
      ? `${droppedFacts} readings were dropped, and their time is unobserved`
      : `${droppedLive} readings for live pages and traces were dropped`;
  return trouble('readings', `${what}: the gateway did not keep up.`, {
    rule: `readings are dropped (${RULE})`,
    cure: 'Give the gateway a faster disk or machine, or read fewer signals.',
    over: 'Over: no reading was dropped for ten minutes.',
  });
}

function givenUp({ dead }: GatewaySight): readonly Finding[] {
  return dead
    .filter(({ count }) => count > 0)
    .map(({ route, count, lastError }) =>
      trouble(
        `messages ${route}`,
        `${count === 1 ? 'A message' : `${count} messages`} by route ${route} could not be delivered and ${count === 1 ? 'was' : 'were'} given up.`,
        {
          rule: `a message is given up (${RULE})`,
          cure: `${lastError === null ? '' : `${lastError} `}Send it again from the page Links, or set it aside there.`,
          over: `Over: nothing given up is left at route ${route}.`,
        },
      ),
    );
}
