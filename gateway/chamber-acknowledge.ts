/**
 * A person acknowledges an alarm at its chamber: asked of the link only where the site file allows it, written down before anything leaves and once
 * more with what came of it. The fact that the alarm is acknowledged comes from the chamber itself, as any other word of it.
 */
import type { ChamberState } from '../src/chamber-state.ts';
import { definitionOf } from '../src/alarm.ts';
import { Fault } from '../src/fault.ts';
import type { Clock } from './clock.ts';
import type { AlarmActs } from './http/answers-port.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest } from './opcua/link-port.ts';
import type { Deed } from './pipeline.ts';
import type { Plant, PlantChamber } from './plant.ts';

export type AcknowledgeParts = {
  readonly plant: Plant;
  readonly clock: Clock;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
  readonly record: (deed: Deed) => Promise<unknown>;
  readonly ask: (request: AcknowledgeRequest) => Promise<AcknowledgeAnswer>;
};

export function chamberAcknowledge({ plant, clock, state, record, ask }: AcknowledgeParts): AlarmActs {
  const note = (who: string, deed: string, subject: string): Promise<unknown> =>
    record({ events: [], audit: [{ at: clock.now(), who, deed, subject }] });
  return {
    acknowledgeAlarm: async ({ chamber, code, by, note: words, of }) => {
      const one = plant.chamber(chamber);
      refuse(one, { code, of }, state(chamber));
      const { text: alarm } = definitionOf(one.rules, code);
      const name = of === undefined ? alarm : `${alarm} (earlier activation)`;
      const subject = `${chamber} ${code}${of === undefined ? '' : `, earlier activation of ${new Date(of).toISOString()}`}`;
      await note(by, 'ask chamber to acknowledge alarm', subject);
      const comment = words === '' ? by : `${by}: ${words}`;
      const { done, text } = await ask({ server: one.server, chamber, code, name, comment, ...(of === undefined ? {} : { of }) });
      await note(by, done ? 'alarm acknowledged at chamber' : 'acknowledgement refused by chamber', done ? subject : `${subject}: ${text}`);
      if (!done) throw new Fault('conflict', text);
      return { text };
    },
  };
}

/** `of`: an earlier activation. */
type Meant = { readonly code: string; readonly of: number | undefined };

function refuse({ id, server, rules, acknowledges }: PlantChamber, { code, of }: Meant, { alarms }: ChamberState): void {
  const { text } = definitionOf(rules, code);
  const known = Object.hasOwn(alarms, code) ? alarms[code] : undefined;
  if (known === undefined) throw new Fault('not-found', `${id} has told no alarm ${code} yet.`);
  if (!acknowledges.has(code)) {
    const cure = `Acknowledge it at the chamber; to allow it from here set acknowledge: true for ${server} in the site file (alarm conditions only).`;
    throw new Fault('forbidden', `${text} cannot be acknowledged from here. ${cure}`);
  }
  if (of !== undefined && !known.branches.includes(of))
    throw new Fault('conflict', `That earlier activation of ${text} does not wait any more. Reload the page to see what does.`);
  if (of === undefined && known.acknowledged === true) throw new Fault('conflict', `${text} is acknowledged already.`);
}
