/** The one act that reaches a chamber: acknowledging an alarm there, where the site file allows it. */
import * as z from 'zod';
import { acknowledgeAlarm, alarmAcknowledged } from '../../src/contract.ts';
import type { AlarmActs } from './answers-port.ts';
import { ACT_PROBLEMS, type Api } from './api.ts';
import { chamberId } from './query.ts';

/** Acts are rare: a person clicks. */
const ACTS = { rateLimit: { max: 30, timeWindow: 60_000 } };
const DESCRIPTION =
  'Calls the Acknowledge method of OPC 10000-9 on the alarm’s condition, with name and note as the comment; nothing else is ever written to a chamber. ' +
  '`of` names an earlier activation that the machine keeps as a branch, as the chamber’s `alarms.earlier` does: then that alone is acknowledged. ' +
  'Only for servers with `acknowledge: true` in the site file. Answers what the chamber said; a refusal is a problem with its cure. Audited either way. ' +
  'Only from a page of this gateway: same Origin, content-type application/json and the header `x-glowfleet: 1`.';

export function alarmActRoutes(api: Api, answers: AlarmActs): void {
  api.post(
    '/api/chambers/:id/alarms/:code/acknowledge',
    {
      config: ACTS,
      schema: {
        tags: ['alarms'],
        summary: 'Acknowledge an alarm at its chamber, in the name of a person',
        description: DESCRIPTION,
        params: z.object({ id: chamberId, code: z.string().min(1).max(40) }),
        body: acknowledgeAlarm,
        response: { 200: alarmAcknowledged, ...ACT_PROBLEMS },
      },
    },
    async ({ params, body }) => answers.acknowledgeAlarm({ chamber: params.id, code: params.code, ...body }),
  );
}
