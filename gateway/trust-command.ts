/** Which certificates are ours, trusted and refused, and a person's decision about one of them, as text for the command line. */
import { forget, ownCertificate, trust, certificatesOn, type CertificateFacts, type StoredCertificate } from './opcua/certificate-store.ts';

export type TrustCommand = {
  readonly type: 'trust';
  readonly data: string;
  /** The thumbprint or its beginning; without it the certificates are listed. */
  readonly thumbprint: string | undefined;
  readonly forget: string | undefined;
};

export function trustAnswer({ thumbprint, forget: forgotten }: TrustCommand, pkiFolder: string, now: number): string {
  if (forgotten !== undefined) {
    const { thumbprint: digits, subject } = forget(pkiFolder, forgotten, now);
    return `${digits} (${subject}) is not trusted any more from the next connection on. A session that stands goes on until it ends.`;
  }
  if (thumbprint === undefined) return list(pkiFolder, now);
  const { thumbprint: digits, subject } = trust(pkiFolder, thumbprint, now);
  return `${digits} (${subject}) is trusted. A running gateway connects with it at its next attempt, within a minute.`;
}

function list(pkiFolder: string, now: number): string {
  const own = ownCertificate(pkiFolder);
  return [
    own === null
      ? 'Our own certificate is made at the first start.'
      : `Our own certificate, to be trusted at each server:\n${term(own, now)}`,
    shelf('Refused', certificatesOn(pkiFolder, 'rejected'), now),
    shelf('Trusted', certificatesOn(pkiFolder, 'trusted'), now),
  ].join('\n\n');
}

const shelf = (title: string, certificates: readonly StoredCertificate[], now: number): string =>
  certificates.length === 0
    ? `${title}: none.`
    : [
        `${title}, newest first:`,
        ...certificates.map((one) => `${term(one, now)}\n    ${one.subject}, ${one.applicationUri}, seen ${day(one.seenAt)}`),
      ].join('\n');

const term = ({ thumbprint, validFrom, validTo }: CertificateFacts, now: number): string =>
  `  ${thumbprint}  valid ${day(validFrom)} to ${day(validTo)}${validTo <= now ? ', EXPIRED' : validFrom > now ? ', NOT YET' : ''}`;

const day = (at: number): string => new Date(at).toISOString().slice(0, 10);
