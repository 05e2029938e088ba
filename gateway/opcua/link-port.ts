/**
 * What the rest of the gateway sees of the OPC UA side: readings, and how each server is doing. The link runs in a supervised child process.
 */
import type { LinkSite } from '../../src/link-need.ts';
import type { Reading } from '../../src/reading.ts';

/** Ends of validity are real time, not plant time. */
export type CertificateTerm = { readonly whose: 'server' | 'user'; readonly validTo: number };
export type OwnCertificate = { readonly thumbprint: string; readonly validTo: number };

export type ServerStatus = {
  readonly server: string;
  readonly state: 'connecting' | 'live' | 'silent' | 'refused';
  /** One sentence with the cure, for people; '' when live. */
  readonly message: string;
  /** Server clock minus ours, ms; null before the first measurement. */
  readonly skewMs: number | null;
  readonly lastHeardAt: number | null;
  /** Tags that could not be read, with the reason. */
  readonly badTags: readonly { readonly chamber: string; readonly signal: string; readonly reason: string }[];
  /** Those in use, and how long they last. */
  readonly certificates?: readonly CertificateTerm[];
  readonly counters: {
    readonly values: number;
    readonly sequenceGaps: number;
    readonly overflows: number;
    readonly rebuilds: number;
    readonly handlerErrors: number;
    /** Values of all servers together that the gateway did not take in time. */
    readonly dropped?: number;
  };
};

export type LinkEvents = {
  /** In arrival order, many at a time. `link.alive` readings carry presence: true while heard, false at the time last heard. */
  readonly readings: (readings: readonly Reading[]) => void;
  readonly server: (status: ServerStatus) => void;
  /** Our own, by which servers know us: told at each start of a link process. */
  readonly own?: (certificate: OwnCertificate) => void;
  /** A link process ended although nobody asked it to. */
  readonly died?: () => void;
};

export type AcknowledgeRequest = {
  readonly server: string;
  readonly chamber: string;
  readonly code: string;
  /** What persons call the alarm, for the answer. */
  readonly name: string;
  /** Goes to the chamber with the acknowledgement. */
  readonly comment: string;
  /** The earlier activation meant, by the time that names its branch; the last one without it. */
  readonly of?: number;
};
/** One sentence; where it was refused, with the cure. */
export type AcknowledgeAnswer = { readonly done: boolean; readonly text: string };

export interface Link {
  /** `heardUntil`: by server name, when it was last heard before; what it kept since is read back first. */
  start(heardUntil?: Readonly<Record<string, number>>): Promise<void>;
  /** Another site file. Sessions with servers whose own part is the same go on untouched; `heardUntil` is of servers that begin. */
  change(site: LinkSite, heardUntil?: Readonly<Record<string, number>>): void;
  /** Asks the chamber's server to acknowledge one alarm condition. Refused, without a word to the server, unless its site file part allows it. */
  acknowledge(request: AcknowledgeRequest): Promise<AcknowledgeAnswer>;
  /** Closes sessions in order, at most 2 s. */
  stop(): Promise<void>;
}
