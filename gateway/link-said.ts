/**
 * What the console says of the links, for who starts a gateway and looks there first: each refusal once, since it heals only when a person does what
 * it says, and that it is over. Everything else about links is on their page.
 */
import type { ServerLine } from '../src/contract.ts';

/** `told`: the last refusal said of each server; owned by who asks. */
export function linkSaid(
  told: Map<string, string>,
  { server, state, message }: Pick<ServerLine, 'server' | 'state' | 'message'>,
): string | null {
  if (state === 'refused') {
    if (told.get(server) === message) return null;
    told.set(server, message);
    return message;
  }
  return state === 'live' && told.delete(server) ? `${server} answers now.` : null;
}
