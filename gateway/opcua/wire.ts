/**
 * What the gateway and its link process say to each other. Values travel as packed columns; the name of a value is
 * `<chamber>\t<signal>`, its tag says quality (bits 0-1) and the clock of its time (bits 2-3).
 */
import type { Batch } from '../../src/batch.ts';
import type { LinkSite } from '../../src/link-need.ts';
import type { Quality, TimeOrigin } from '../../src/reading.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest, OwnCertificate, ServerStatus } from './link-port.ts';

/** Plant time that read `plantMs` when the machine's clock read `realMs`, running `speed` times as fast. */
export type ClockSetting = { readonly realMs: number; readonly plantMs: number; readonly speed: number };

export type LinkOrder =
  | {
      readonly type: 'open';
      readonly site: LinkSite;
      readonly clock: ClockSetting;
      readonly pkiFolder: string;
      /** When each server was last heard by an earlier link process, plant time. */
      readonly heardUntil: Readonly<Record<string, number>>;
    }
  /** Another site file: links whose need is the same go on untouched. */
  | { readonly type: 'change'; readonly site: LinkSite; readonly heardUntil: Readonly<Record<string, number>> }
  | { readonly type: 'acknowledge'; readonly id: number; readonly request: AcknowledgeRequest }
  | { readonly type: 'close' };

export type LinkNews =
  /** `batch.names` holds only the names that are new; name numbers count through all names of this process's life. */
  | { readonly type: 'values'; readonly batch: Batch; readonly receivedAt: number }
  | { readonly type: 'own-certificate'; readonly certificate: OwnCertificate }
  | { readonly type: 'acknowledged'; readonly id: number; readonly answer: AcknowledgeAnswer }
  | { readonly type: 'status'; readonly status: ServerStatus };

export const QUALITIES: readonly Quality[] = ['good', 'uncertain', 'bad'];
const ORIGINS: readonly TimeOrigin[] = ['source', 'server', 'receipt', 'archive'];
export const GOOD = 0;
export const BAD = 2;
export const FROM_SOURCE = 0;
export const FROM_SERVER = 1;
export const FROM_RECEIPT = 2;
export const FROM_ARCHIVE = 3;

export const packTag = (quality: number, origin: number): number => quality | (origin << 2);
export const qualityOfTag = (tag: number): Quality => QUALITIES[tag & 3] ?? 'bad';
export const originOfTag = (tag: number): TimeOrigin => ORIGINS[(tag >> 2) & 3] ?? 'receipt';
