/**
 * The library's error texts as one sentence with its cure, for people. The texts are those of node-opcua 2.186. A Fault is a sentence already.
 */
import { dirname } from 'node:path';
import { Fault } from '../../src/fault.ts';
import { latinLine } from '../../src/inert-text.ts';
import { ownCertificate } from './certificate-store.ts';
import type { CertificateFacts } from './certificate-store.ts';
import type { ServerPart } from './client.ts';

export type Refusal = {
  readonly server: string;
  readonly endpoint: string;
  readonly security: string;
  readonly policy: string;
  readonly pkiFolder: string;
  /** Of our own certificate; '' when there is none yet. */
  readonly thumbprint: string;
  /** Of the certificate that the server showed; '' when it showed none. */
  readonly shown: string;
  /** As whom we read. */
  readonly user: ServerPart['user'];
};

export const refusalBy = (server: ServerPart, pkiFolder: string, shown: CertificateFacts | null): Refusal => ({
  server: server.name,
  endpoint: server.endpoint,
  security: server.security,
  policy: server.policy,
  pkiFolder,
  thumbprint: ownCertificate(pkiFolder)?.thumbprint ?? '',
  shown: shown?.thumbprint ?? '',
  user: server.user,
});

/** `isVerdict`: the answer of a server, not of the network: the same request again by itself would get the same. */
type Rule = { readonly when: RegExp; readonly isVerdict: boolean; readonly say: (refusal: Refusal, match: RegExpExecArray) => string };

const RULES: readonly Rule[] = [
  {
    when: /rejected by server.*BadCertificate|BadSecurityChecksFailed|BadApplicationSignatureInvalid/,
    isVerdict: true,
    say: ({ server, thumbprint, pkiFolder }) =>
      `${server} does not trust this gateway. On ${server}, trust the certificate with thumbprint ${thumbprint || '(none yet)'} ` +
      `(file ${pkiFolder}/own/certs/client_certificate.pem).`,
  },
  {
    when: /BadCertificateUntrusted/,
    isVerdict: true,
    say: ({ server, pkiFolder, shown }) =>
      `The certificate of ${server} is not trusted yet. Compare its thumbprint${shown && ` ${shown}`} with the one shown on the machine, then: ` +
      `glowfleet trust --data ${typed(dirname(pkiFolder))} ${shown.slice(0, 8) || 'THUMBPRINT'}`,
  },
  {
    when: /BadCertificate\w*TimeInvalid|BadInvalidTimestamp/,
    isVerdict: true,
    say: ({ server }, [status]) =>
      `The certificate of ${server} is out of its time (${status}): it has expired, or a clock is wrong. Set the clocks of ${server} and of this ` +
      `machine right. Renew the certificate at ${server} if it has expired, then trust the new one here.`,
  },
  {
    when: /(?:Certificate verification failed with err )?(BadCertificate\w*|BadNonceInvalid|BadNoValidCertificates)/,
    isVerdict: true,
    say: ({ server }, [, status = '']) =>
      `The certificate of ${server} is refused (${status}). Renew the certificate at ${server}, then trust the new one here.`,
  },
  {
    when: /Cannot find an Endpoint|End ?point must exist|BadSecurityPolicyRejected|BadSecurityModeRejected/,
    isVerdict: true,
    say: ({ server, endpoint, security, policy }) =>
      `${server} offers no endpoint with security ${security}${security === 'none' ? '' : ` and policy ${policy}`} at ${endpoint}. ` +
      `Switch it on at ${server}, or set security and policy of this server in the site file to what it offers.`,
  },
  {
    when: /BadTooManySessions|BadMaxConnectionsReached|BadTcpNotEnoughResources|BadTcpServerTooBusy/,
    isVerdict: true,
    say: ({ server }) =>
      `${server} has no free session. Close other clients or raise its session limit; sessions left behind end by themselves within minutes.`,
  },
  {
    when: /Cannot find (ANONYMOUS|USERNAME|Certificate \(X509\)) user token policy/,
    isVerdict: true,
    say: ({ server, security }, [, kind = '']) =>
      `${server} takes no ${TOKEN_WORDS[kind] ?? 'such users'} over security ${security}. Allow them at ${server}, or name another user of it ` +
      `in the site file.`,
  },
  {
    when: /BadTooManyOperations|BadTooManyMonitoredItems|BadTooManyArguments|BadTooManyMatches|BadEncodingLimitsExceeded|Bad(Request|Response|TcpMessage)TooLarge|message size/i,
    isVerdict: true,
    say: ({ server }, [status]) =>
      `${server} takes less at once than is asked of it (${status}). Raise its limits for operations, monitored items and message size, or map fewer ` +
      `of its tags in the site file.`,
  },
  {
    when: /BadTooManySubscriptions|BadTooManyPublishRequests/,
    isVerdict: true,
    say: ({ server }, [status]) =>
      `${server} has no free subscription (${status}). Close other clients or raise its limit; subscriptions left behind end by themselves within minutes.`,
  },
  {
    when: /BadIdentityToken|BadUserAccessDenied|BadUserSignatureInvalid|BadIdentityChangeNotSupported/,
    isVerdict: true,
    say: ({ server, user }) => userRefused(server, user),
  },
  {
    when: /ENOTFOUND|EAI_AGAIN|getaddrinfo/,
    isVerdict: false,
    say: ({ server, endpoint }) =>
      `The host name in ${endpoint} is unknown. Correct the endpoint of ${server} in the site file, or the name service.`,
  },
  {
    when: /BadSessionIdInvalid|BadSessionClosed|BadSessionNotActivated|BadSecureChannel\w*|BadTcpSecureChannelUnknown|BadConnectionClosed|BadConnectionRejected|BadNotConnected|BadSubscriptionIdInvalid|BadNoSubscription|BadMessageNotAvailable|BadSequenceNumber\w*|BadServerNotConnected/,
    isVerdict: false,
    say: ({ server }, [status]) =>
      `${server} ended our session (${status}). It is opened again by itself; if this comes often, raise the session time-out of ${server} and look at the network.`,
  },
  {
    when: /BadServerHalted|BadShutdown|BadOutOfMemory|BadResourceUnavailable|BadTcpInternalError|BadInternalError|BadServerUriInvalid|BadTcpEndpointUrlInvalid|BadServiceUnsupported/,
    isVerdict: false,
    say: ({ server, endpoint }, [status]) =>
      `${server} cannot serve now (${status}). It is tried again by itself; if this stays, look at ${server} itself and at its address ${endpoint}.`,
  },
  {
    when: /ECONNREFUSED|premature|socket has been disconnected|ECONNRESET|EPIPE/,
    isVerdict: false,
    say: ({ server, endpoint }) => `Nothing answers at ${endpoint}. Is ${server} running, and is its port right?`,
  },
  {
    when: /BadTimeout|BadRequestTimeout|timed? ?out|ETIMEDOUT|BadTimeout|EHOSTUNREACH|ENETUNREACH/i,
    isVerdict: false,
    say: ({ server, endpoint }) =>
      `${server} did not answer in time at ${endpoint}. Check the cable, the address and any firewall in between.`,
  },
];

const TOKEN_WORDS: Readonly<Record<string, string>> = {
  ANONYMOUS: 'anonymous users',
  USERNAME: 'users with a password',
  'Certificate (X509)': 'users with a certificate',
};

function userRefused(server: string, user: Refusal['user']): string {
  if (user === undefined)
    return `${server} refuses anonymous reading. Allow anonymous users to read at ${server}, or name a user of it in the site file.`;
  if ('certificateFile' in user)
    return `${server} refuses the user certificate ${user.certificateFile}. Trust it at ${server} as a user's certificate, and see that it has not expired.`;
  const place = 'passwordFile' in user ? user.passwordFile : `the environment variable ${user.passwordEnv}`;
  return `${server} refuses the user ${user.name}. Put the right password into ${place}, and see that this user may read at ${server}.`;
}

/** For a command line. */
const typed = (path: string): string => (/[^\w./\\:~-]/.test(path) ? `"${path}"` : path);

const LONGEST = 160;

/** A server, or we ourselves, said no: nothing heals by waiting. */
export const isVerdict = (error: unknown): boolean =>
  error instanceof Fault || RULES.find(({ when }) => when.test(error instanceof Error ? error.message : String(error)))?.isVerdict === true;

export function sentence(error: unknown, refusal: Refusal): string {
  if (error instanceof Fault) return error.message;
  const text = error instanceof Error ? error.message : String(error);
  for (const { when, say } of RULES) {
    const match = when.exec(text);
    if (match) return say(refusal, match);
  }
  return `${refusal.server} could not be read: ${latinLine(text, LONGEST)}. Trying again; see the machine's own log if this stays.`;
}

/** Why a tag cannot be read, with what a person may do; the status stays, because the machine's own log has it too. */
export function tagReason(status: string): string {
  const words = TAG_REASONS.find(({ when }) => when.test(status))?.words;
  return words === undefined ? status : `${status}: ${words}`;
}

const TAG_REASONS: readonly { readonly when: RegExp; readonly words: string }[] = [
  { when: /^namespace not/, words: 'correct nsu= of this node in the site file' },
  { when: /^BadNodeId(Unknown|Invalid)/, words: 'the server has no such node; correct it in the site file' },
  { when: /^BadAttributeIdInvalid|^BadNotReadable/, words: 'this node has no value to read; name the variable itself in the site file' },
  {
    when: /^BadUserAccessDenied|^BadNotAuthorized|^BadSecurityModeInsufficient/,
    words: 'our user may not read it; allow it at the server',
  },
  { when: /^BadTooManyMonitoredItems|^BadOutOfMemory/, words: 'the server takes no more items; raise its limit or map fewer tags' },
  {
    when: /^BadTypeMismatch|^BadFilter|^BadMonitoredItemFilter/,
    words: 'the server cannot report it so; name another node in the site file',
  },
  {
    when: /^BadWaitingForInitialData|^BadNoCommunication|^BadNotConnected|^BadDeviceFailure|^BadSensorFailure/,
    words: 'the server has no word from the device itself; look there',
  },
];
