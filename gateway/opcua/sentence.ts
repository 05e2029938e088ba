/**
 * The library's error texts as one sentence with its cure, for people. The texts are those of node-opcua 2.186.
 */
export type Refusal = {
  readonly server: string;
  readonly endpoint: string;
  readonly security: string;
  readonly policy: string;
  readonly pkiFolder: string;
  /** Of our own certificate; '' when there is none yet. */
  readonly thumbprint: string;
};

type Rule = { readonly when: RegExp; readonly say: (refusal: Refusal, match: RegExpExecArray) => string };

const RULES: readonly Rule[] = [
  {
    when: /rejected by server.*(BadSecurityChecksFailed|BadCertificate)|BadApplicationSignatureInvalid/,
    say: ({ server, thumbprint, pkiFolder }) =>
      `${server} does not trust this gateway. On ${server}, trust the certificate with thumbprint ${thumbprint || '(none yet)'} ` +
      `(file ${pkiFolder}/own/certs/client_certificate.pem).`,
  },
  {
    when: /BadCertificateUntrusted/,
    say: ({ server, pkiFolder }) =>
      `The certificate of ${server} is not trusted yet. Its file in ${pkiFolder}/rejected bears its thumbprint: compare that with the one ` +
      `shown on the machine, then move the file to ${pkiFolder}/trusted/certs.`,
  },
  {
    when: /Certificate verification failed with err (\w+)/,
    say: ({ server }, [, status = '']) =>
      `The certificate of ${server} is refused (${status}). Renew the certificate at ${server}, then trust the new one here.`,
  },
  {
    when: /Cannot find an Endpoint|BadSecurityPolicyRejected|BadSecurityModeRejected/,
    say: ({ server, endpoint, security, policy }) =>
      `${server} offers no endpoint with security ${security}${security === 'none' ? '' : ` and policy ${policy}`} at ${endpoint}. ` +
      `Switch it on at ${server}, or set security and policy of this server in the site file to what it offers.`,
  },
  {
    when: /BadTooManySessions|BadMaxConnectionsReached|BadTcpNotEnoughResources/,
    say: ({ server }) =>
      `${server} has no free session. Close other clients or raise its session limit; sessions left behind end by themselves within minutes.`,
  },
  {
    when: /BadIdentityToken|BadUserAccessDenied|BadUserSignatureInvalid/,
    say: ({ server }) => `${server} refuses anonymous reading. Allow anonymous users to read at ${server}.`,
  },
  {
    when: /ENOTFOUND|EAI_AGAIN|getaddrinfo/,
    say: ({ server, endpoint }) =>
      `The host name in ${endpoint} is unknown. Correct the endpoint of ${server} in the site file, or the name service.`,
  },
  {
    when: /ECONNREFUSED|premature|socket has been disconnected|ECONNRESET|EPIPE/,
    say: ({ server, endpoint }) => `Nothing answers at ${endpoint}. Is ${server} running, and is its port right?`,
  },
  {
    when: /timed? ?out|ETIMEDOUT|BadTimeout|EHOSTUNREACH|ENETUNREACH/i,
    say: ({ server, endpoint }) =>
      `${server} did not answer in time at ${endpoint}. Check the cable, the address and any firewall in between.`,
  },
];

const LONGEST = 160;

export function sentence(error: unknown, refusal: Refusal): string {
  const text = error instanceof Error ? error.message : String(error);
  for (const { when, say } of RULES) {
    const match = when.exec(text);
    if (match) return say(refusal, match);
  }
  const words = text
    .replace(/[^\x20-\x7e]+/g, ' ')
    .trim()
    .slice(0, LONGEST);
  return `${refusal.server} could not be read: ${words}. Trying again; see the machine's own log if this stays.`;
}
