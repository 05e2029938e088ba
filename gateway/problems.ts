/** What the gateway itself has to own up to, in sentences: links that are down, and every kind of value that did not get where it should. */
import { expirySentence, type CertificateUse } from '../src/certificate-expiry.ts';
import type { ServerLine } from '../src/contract.ts';
import type { OrderCounters } from './core.ts';
import type { IntakeCounters } from './intake.ts';

type ProblemParts = {
  readonly servers: readonly ServerLine[];
  readonly intake: IntakeCounters;
  readonly order: OrderCounters;
  /** Ends of our own certificate and the real time now; without it none is judged. */
  readonly certificates?: { readonly ownValidTo: number | null; readonly now: number };
};

/** A few come so with every reconnect; more than this share of all is a network or a clock to look after. */
const LEFT_OUT_SHARE = 0.001;

export function problems({ servers, intake, order, certificates }: ProblemParts): string[] {
  const links = servers.filter(({ message }) => message !== '').map(({ server, message }) => `${server}: ${message}`);
  return [...links, ...onTheWay(servers), ...byTheDisk(intake), ...tooLate(servers, order), ...ending(servers, certificates)];
}

function ending(servers: readonly ServerLine[], at: ProblemParts['certificates']): readonly string[] {
  return at === undefined ? [] : certificateUses(servers, at.ownValidTo).flatMap((use) => expirySentence(use, at.now) ?? []);
}

/** Our own where there is one, and those of the servers and users of the last attempt to connect. */
export function certificateUses(servers: readonly ServerLine[], ownValidTo: number | null): readonly CertificateUse[] {
  const own: CertificateUse[] = ownValidTo === null ? [] : [{ whose: 'own', server: '', validTo: ownValidTo }];
  return [...own, ...servers.flatMap(({ server, certificates = [] }) => certificates.map((one): CertificateUse => ({ ...one, server })))];
}

/** The link has one way to the gateway for all servers, so each tells the same count. */
function onTheWay(servers: readonly ServerLine[]): readonly string[] {
  const dropped = Math.max(0, ...servers.map(({ counters }) => counters.dropped ?? 0));
  const cure = 'the time is unobserved. Give the gateway a faster machine or fewer signals.';
  return dropped === 0 ? [] : [`${counted(dropped)} dropped because the gateway did not take them in time; ${cure}`];
}

function byTheDisk({ droppedFacts, droppedLive }: IntakeCounters): readonly string[] {
  const facts = `${counted(droppedFacts)} dropped because the disk is too slow; the time is unobserved.`;
  const live = `${counted(droppedLive)} dropped because the disk is too slow, all of them shown by live pages and traces only; no number rests on that.`;
  return [...(droppedFacts > 0 ? [facts] : []), ...(droppedLive > 0 ? [live] : [])];
}

function tooLate(servers: readonly ServerLine[], { leftOut }: OrderCounters): readonly string[] {
  const values = servers.reduce((sum, { counters }) => sum + counters.values, 0);
  if (leftOut <= values * LEFT_OUT_SHARE) return [];
  return [
    `${leftOut} of ${values} values came too late, after newer ones of the same signal, and ${leftOut === 1 ? 'was' : 'were'} left out. Check the clocks and the network of the servers.`,
  ];
}

const counted = (values: number): string => (values === 1 ? '1 value was' : `${values} values were`);
