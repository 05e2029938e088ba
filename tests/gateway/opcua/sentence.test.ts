import { expect, test } from 'vitest';
import { StatusCodes } from 'node-opcua';
import { isVerdict, sentence, tagReason } from '../../../gateway/opcua/sentence.ts';

const refusal = {
  server: 'plc-1',
  endpoint: 'opc.tcp://10.0.0.5:4840',
  security: 'sign',
  policy: 'Basic256Sha256',
  pkiFolder: '/data/pki',
  thumbprint: 'AB:CD',
  shown: '1A2B3C4D5E6F',
  user: undefined,
};

// Left: the library's own texts, as measured with node-opcua 2.186.4. Right: what a person must find in the sentence.
test.each<[string, RegExp]>([
  [
    'server Certificate verification failed with err BadCertificateUntrusted (0x801a0000)',
    /not trusted yet.*thumbprint 1A2B3C4D5E6F with.*glowfleet trust --data \/data 1A2B3C4D$/,
  ],
  ['server Certificate verification failed with err BadCertificateTimeInvalid (0x80140000)', /BadCertificateTimeInvalid.*clock.*Renew/],
  ['The connection has been rejected by server: BadSecurityChecksFailed (0x80130000)', /does not trust this gateway.*AB:CD/],
  ['The connection has been rejected by server, err = BadCertificateUntrusted', /does not trust this gateway.*AB:CD/],
  [
    'Cannot find an Endpoint matching  security mode: 3 policy: http://opcfoundation.org/UA/SecurityPolicy#Basic256Sha256',
    /no endpoint with security sign and policy/,
  ],
  ['connect ECONNREFUSED 10.0.0.5:4840', /Nothing answers at opc\.tcp:\/\/10\.0\.0\.5:4840/],
  ["Fail to connect to server at x to collect server's certificate (premature disconnection)", /Nothing answers/],
  ['serviceResult = BadTooManySessions (0x80560000)', /no free session/],
  ['getaddrinfo ENOTFOUND plc-1.example', /host name.*unknown/],
  ['connect ETIMEDOUT 10.0.0.5:4840', /did not answer in time/],
  ['serviceResult = BadUserAccessDenied', /anonymous/],
])('%s becomes a sentence with its cure', (text, expected) => {
  expect(sentence(new Error(text), refusal)).toMatch(expected);
});

test('an unknown text is cut short and loses what could disturb a screen', () => {
  const said = sentence(new Error(`odd\u202e\n\x1b[31m${'x'.repeat(500)}`), refusal);
  expect(said).toMatch(/^plc-1 could not be read: odd \[31mx+…\. Trying again/);
  expect(said.length).toBeLessThan(260);
  expect(said).toMatch(/^[\x20-\x7e…]+$/);
});

/**
 * What may end or prevent a session, by the library's own list of the status codes of OPC UA (OPC 10000-6 A.2). Codes of single nodes, of writing,
 * of history, of methods and of alarms concern no session.
 */
const SESSION =
  /^Bad(Certificate|Identity|User(Access|Signature)|Session|SecureChannel|Security(Checks|Policy|Mode)Rejected|SecurityChecks|SecurityPolicy|TooMany(Sessions|Subscriptions|Operations|MonitoredItems|PublishRequests)|Tcp(NotEnough|ServerTooBusy|MessageTooLarge|InternalError|EndpointUrl|SecureChannel)|Timeout|RequestTimeout|RequestTooLarge|ResponseTooLarge|EncodingLimits|Connection(Closed|Rejected)|NotConnected|Server(Halted|NotConnected|UriInvalid)|Shutdown|OutOfMemory|ResourceUnavailable|NoSubscription|SubscriptionId|MessageNotAvailable|ApplicationSignature|NonceInvalid|NoValidCertificates|SequenceNumber|InvalidTimestamp|MaxConnections|InternalError|ServiceUnsupported)/;
const codes = Object.keys(StatusCodes).filter((name) => SESSION.test(name) && !/TimestampArgument|SignatureMissing/.test(name));

test('every status that ends or prevents a session has a sentence of its own, with a cure', () => {
  expect(codes.length).toBeGreaterThan(50);
  const unsaid = codes.filter((name) => / could not be read: /.test(sentence(new Error(`serviceResult = ${name} (0x80000000)`), refusal)));
  expect(unsaid).toEqual([]);
  for (const name of codes) {
    const said = sentence(new Error(`serviceResult = ${name} (0x80000000)`), refusal);
    expect(said, name).toMatch(/\. [A-Z]|, then|\?/);
    expect(said, name).toMatch(/plc-1|10\.0\.0\.5/);
  }
});

test('a refusal is a verdict, a broken line is none', () => {
  const verdicts = [
    'BadUserAccessDenied',
    'BadCertificateUntrusted',
    'BadTooManySessions',
    'BadSecurityChecksFailed',
    'BadIdentityTokenRejected',
  ];
  expect(verdicts.filter((name) => !isVerdict(new Error(name)))).toEqual([]);
  const breaks = [
    'connect ECONNREFUSED 10.0.0.5:4840',
    'BadConnectionClosed',
    'BadTimeout',
    'premature disconnection',
    'BadSessionIdInvalid',
    'odd',
  ];
  expect(breaks.filter((text) => isVerdict(new Error(text)))).toEqual([]);
});

test('a tag that cannot be read has its status and a cure', () => {
  expect(tagReason('BadNodeIdUnknown')).toBe('BadNodeIdUnknown: the server has no such node; correct it in the site file');
  expect(tagReason('namespace not on this server')).toMatch(/correct nsu=/);
  expect(tagReason('BadSomethingElse')).toBe('BadSomethingElse');
});
