import { expect, test } from 'vitest';
import { sentence } from '../../../gateway/opcua/sentence.ts';

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
  ['server Certificate verification failed with err BadCertificateTimeInvalid (0x80140000)', /BadCertificateTimeInvalid.*Renew/],
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
  expect(said).toMatch(/^plc-1 could not be read: odd \[31mx+\. Trying again/);
  expect(said.length).toBeLessThan(260);
  expect(said).toMatch(/^[\x20-\x7e]+$/);
});
