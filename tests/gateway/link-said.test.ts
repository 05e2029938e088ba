/** A refusal as the person at the console hears of it. */
import { expect, test } from 'vitest';
import { linkSaid } from '../../gateway/link-said.ts';

test('a refusal is said once, another one anew, and its end once; a link that was never refused says nothing', () => {
  const told = new Map<string, string>();
  const say = (server: string, state: 'connecting' | 'live' | 'silent' | 'refused', message = '') =>
    linkSaid(told, { server, state, message });
  expect([say('plc-1', 'connecting'), say('plc-2', 'live')]).toEqual([null, null]);
  expect(say('plc-1', 'refused', 'The certificate of plc-1 is not trusted yet.')).toBe('The certificate of plc-1 is not trusted yet.');
  expect([say('plc-1', 'connecting'), say('plc-1', 'refused', 'The certificate of plc-1 is not trusted yet.')]).toEqual([null, null]);
  expect(say('plc-1', 'refused', 'plc-1 does not trust this gateway.')).toBe('plc-1 does not trust this gateway.');
  expect([say('plc-1', 'connecting'), say('plc-1', 'live'), say('plc-1', 'live')]).toEqual([null, 'plc-1 answers now.', null]);
});
