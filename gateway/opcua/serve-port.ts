/** What the gateway tells its own OPC UA server, which runs in a process of its own: strangers connect to it. */
import type { ChamberTile } from '../../src/contract.ts';
import type { SeenNumbers } from '../../src/numbers.ts';

/** How the server is offered. Clients must be trusted unless security is none. */
export type ServeSetting = { readonly host: string; readonly port: number; readonly security: 'none' | 'sign-and-encrypt' };

export type ServeOrder =
  | {
      readonly type: 'open';
      readonly setting: ServeSetting;
      readonly pkiFolder: string;
      readonly site: { readonly name: string; readonly hall: string };
      readonly version: string;
      readonly chambers: readonly { readonly id: string; readonly name: string; readonly bay: string }[];
    }
  | { readonly type: 'tiles'; readonly tiles: readonly ChamberTile[]; readonly now: number }
  /** Of the local day so far. */
  | { readonly type: 'numbers'; readonly numbers: readonly SeenNumbers[] }
  | { readonly type: 'close' };

export type ServeNews =
  | { readonly type: 'ready'; readonly endpoint: string; readonly thumbprint: string }
  | { readonly type: 'failed'; readonly message: string };
