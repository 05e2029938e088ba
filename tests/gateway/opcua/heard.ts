/** Collects what a link tells and lets a test wait for it. */
import type { LinkEvents, ServerStatus } from '../../../gateway/opcua/link-port.ts';
import { siteFile } from '../../../src/config.ts';
import type { SiteFile } from '../../../src/config.ts';
import type { Reading } from '../../../src/reading.ts';

export class Heard {
  readonly readings: Reading[] = [];
  readonly statuses: ServerStatus[] = [];
  readonly #waiting = new Set<() => void>();

  readonly events: LinkEvents = {
    readings: (readings) => {
      this.readings.push(...readings);
      for (const wake of this.#waiting) wake();
    },
    server: (status) => {
      this.statuses.push(status);
      for (const wake of this.#waiting) wake();
    },
  };

  get status(): ServerStatus | undefined {
    return this.statuses.at(-1);
  }

  of(signal: string, chamber = 'PC-01'): readonly Reading[] {
    return this.readings.filter((reading) => reading.signal === signal && reading.chamber === chamber);
  }

  last(signal: string, chamber = 'PC-01'): Reading | undefined {
    return this.of(signal, chamber).at(-1);
  }

  /** Resolves when `claim` holds; fails with the claim's name. */
  async until(name: string, claim: () => boolean, ms = 25_000): Promise<void> {
    if (claim()) return;
    await new Promise<void>((resolve, reject) => {
      const wake = (): void => {
        if (!claim()) return;
        this.#waiting.delete(wake);
        clearTimeout(late);
        resolve();
      };
      const late = setTimeout(() => {
        this.#waiting.delete(wake);
        reject(
          new Error(`never: ${name}; status ${JSON.stringify(this.status)}; last readings ${JSON.stringify(this.readings.slice(-5))}`),
        );
      }, ms);
      this.#waiting.add(wake);
    });
  }

  clear(): void {
    this.readings.length = 0;
  }
}

type Template = Record<string, unknown>;

export function siteWith(port: number, template: Template, more: { server?: object; chambers?: number } = {}): SiteFile {
  return siteFile.parse({
    site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
    servers: [{ name: 'plc-1', endpoint: `opc.tcp://127.0.0.1:${port}`, security: 'none', ...more.server }],
    templates: { small: { rfMaxW: 600, basePressurePa: 10, gases: {}, tags: {}, ...template } },
    chambers: Array.from({ length: more.chambers ?? 1 }, (_, i) => ({
      id: `PC-0${i + 1}`,
      bay: 'Amber',
      floor: { column: i + 1, row: 1 },
      server: 'plc-1',
      template: 'small',
      path: `A${i + 1}`,
    })),
  });
}
