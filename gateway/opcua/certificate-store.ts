/**
 * The certificates on disk, for people: our own, the trusted ones and the refused ones, and a person's decision about them. Needs no OPC UA
 * library: the folders are those of its store. A refused certificate is kept until 50 newer ones or 2 MB stand before it, so that a server
 * that shows a new one at each attempt cannot fill the disk.
 */
import { X509Certificate } from 'node:crypto';
import { appendFileSync, existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { Fault } from '../../src/fault.ts';
import { latinLine } from '../../src/inert-text.ts';

export type CertificateFacts = {
  readonly subject: string;
  readonly applicationUri: string;
  /** SHA-1 of the certificate, 40 hexadecimal digits: how OPC UA names a certificate. */
  readonly thumbprint: string;
  readonly validFrom: number;
  readonly validTo: number;
};
export type StoredCertificate = CertificateFacts & {
  readonly file: string;
  /** When it came into its folder's store. */ readonly seenAt: number;
};
export type Shelf = 'trusted' | 'rejected';

const MOST_REJECTED = 50;
const MOST_REJECTED_BYTES = 2_000_000;
/** An honest certificate with its chain has a few kilobytes. */
const LARGEST = 100_000;
const LONGEST_TEXT = 100;
const LEAST_DIGITS = 8;

const folderOf = (pkiFolder: string, shelf: Shelf): string =>
  shelf === 'trusted' ? join(pkiFolder, 'trusted', 'certs') : join(pkiFolder, 'rejected');
const ownFile = (pkiFolder: string): string => join(pkiFolder, 'own', 'certs', 'client_certificate.pem');

/** Of the first certificate in it, PEM or DER; null when it is none. */
export function certificateFacts(content: Buffer): CertificateFacts | null {
  try {
    const certificate = new X509Certificate(content);
    return {
      subject: plain(certificate.subject.replaceAll('\n', ', ')),
      applicationUri: plain(/URI:([^,]*)/.exec(certificate.subjectAltName ?? '')?.[1] ?? ''),
      thumbprint: certificate.fingerprint.replaceAll(':', ''),
      validFrom: Date.parse(certificate.validFrom),
      validTo: Date.parse(certificate.validTo),
    };
  } catch {
    return null;
  }
}

/** Whoever made the certificate chose its texts. */
const plain = (text: string): string => latinLine(text, LONGEST_TEXT);

export function ownCertificate(pkiFolder: string): CertificateFacts | null {
  const file = ownFile(pkiFolder);
  return existsSync(file) ? certificateFacts(readFileSync(file)) : null;
}

/** How long the certificate of a user lasts; nothing where there is none to read. */
export function userTerm(file: string): readonly { readonly whose: 'user'; readonly validTo: number }[] {
  const facts = existsSync(file) ? certificateFacts(readFileSync(file)) : null;
  return facts === null ? [] : [{ whose: 'user', validTo: facts.validTo }];
}

/** Newest first. Files that are no certificates are passed over. */
export function certificatesOn(pkiFolder: string, shelf: Shelf): readonly StoredCertificate[] {
  return filesOf(folderOf(pkiFolder, shelf)).flatMap(({ file, size, at }) => {
    const facts = size > LARGEST ? null : certificateFacts(readFileSync(file));
    return facts === null ? [] : [{ ...facts, file, seenAt: at }];
  });
}

type Stored = { readonly file: string; readonly size: number; readonly at: number };

function filesOf(folder: string): readonly Stored[] {
  if (!existsSync(folder)) return [];
  const found = readdirSync(folder).flatMap((name): Stored[] => {
    const file = join(folder, name);
    // Another process may have moved it in between.
    const stat = statSync(file, { throwIfNoEntry: false });
    return stat?.isFile() === true ? [{ file, size: stat.size, at: stat.mtimeMs }] : [];
  });
  return found.sort((a, b) => b.at - a.at || (a.file < b.file ? -1 : 1));
}

/** Throws away the oldest refused certificates beyond the bound. */
export function boundRejected(pkiFolder: string): void {
  let bytes = 0;
  filesOf(folderOf(pkiFolder, 'rejected')).forEach(({ file, size }, i) => {
    // One that no reader opens must not push the readable ones out.
    if (size <= LARGEST) bytes += size;
    if (size > LARGEST || i >= MOST_REJECTED || bytes > MOST_REJECTED_BYTES) rmSync(file, { force: true });
  });
}

/** `digits`: the thumbprint or its beginning, at least 8 digits. What is trusted counts at the next attempt to connect, of a running gateway too. */
export const trust = (pkiFolder: string, digits: string, now: number): StoredCertificate => move({ pkiFolder, digits, now, to: 'trusted' });

/** Back to the refused ones. A session that stands goes on until it ends. */
export const forget = (pkiFolder: string, digits: string, now: number): StoredCertificate =>
  move({ pkiFolder, digits, now, to: 'rejected' });

type Move = { readonly pkiFolder: string; readonly digits: string; readonly now: number; readonly to: Shelf };

function move({ pkiFolder, digits, now, to }: Move): StoredCertificate {
  const found = named(certificatesOn(pkiFolder, to === 'trusted' ? 'rejected' : 'trusted'), digits, to);
  const folder = folderOf(pkiFolder, to);
  mkdirSync(folder, { recursive: true });
  const file = join(folder, `${found.thumbprint}.pem`);
  renameSync(found.file, file);
  appendFileSync(join(pkiFolder, 'trust.log'), `${new Date(now).toISOString()} ${to} ${found.thumbprint} ${found.subject}\n`);
  return { ...found, file };
}

function named(certificates: readonly StoredCertificate[], digits: string, to: Shelf): StoredCertificate {
  const wanted = digits.replaceAll(/[\s:]/g, '').toUpperCase();
  if (!/^[0-9A-F]{8,40}$/.test(wanted))
    throw new Fault(
      'invalid',
      `A thumbprint is 40 digits of 0-9 and A-F, or at least its first ${LEAST_DIGITS}; "${plain(digits)}" is none.`,
    );
  const fits = certificates.filter(({ thumbprint }) => thumbprint.startsWith(wanted));
  const where = to === 'trusted' ? 'refused' : 'trusted';
  if (fits.length === 0)
    throw new Fault(
      'not-found',
      `No ${where} certificate has a thumbprint that begins with ${wanted}. Without a thumbprint the command lists them.`,
    );
  if (new Set(fits.map(({ thumbprint }) => thumbprint)).size > 1)
    throw new Fault(
      'conflict',
      `${fits.length} ${where} certificates have a thumbprint that begins with ${wanted}. Give more of its digits.`,
    );
  return fits[0] as StoredCertificate;
}
