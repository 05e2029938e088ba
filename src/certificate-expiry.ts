/**
 * When somebody must look after a certificate: one sentence with the cure, or nothing. Times are real time, also where plant time runs faster.
 * [CE1] A certificate is told from 30 days before its end on, with the days left.
 * [CE2] One whose end is reached is told as expired.
 */
export type CertificateUse = {
  /** Ours, that of a server, or that of the user as whom a server is read. */
  readonly whose: 'own' | 'server' | 'user';
  /** The server's name; '' for our own. */
  readonly server: string;
  readonly validTo: number;
};

const WARNED_AHEAD_MS = 30 * 86_400_000;
const DAY_MS = 86_400_000;

export function expirySentence({ whose, server, validTo }: CertificateUse, now: number): string | null {
  const left = validTo - now;
  if (left > WARNED_AHEAD_MS) return null;
  const days = Math.ceil(left / DAY_MS);
  const when = left <= 0 ? 'has expired' : `expires in ${days} ${days === 1 ? 'day' : 'days'}`;
  switch (whose) {
    case 'own':
      return `The certificate of this gateway ${when}. Take own/certs/client_certificate.pem out of its pki folder, start again, and trust the new one at each server.`;
    case 'server':
      return `The certificate of ${server} ${when}. Renew it at ${server}, then trust the new one here with glowfleet trust.`;
    case 'user':
      return `The user certificate for ${server} ${when}. Put a new one and its key into the files that the site file names.`;
  }
}
