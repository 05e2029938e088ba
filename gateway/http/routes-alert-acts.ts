/** What a person may do about an alert, always with a name. None of it reaches a chamber. */
import * as z from 'zod';
import { byPerson, commentAlert, inboxAlert, muteAlerts, takeAlert } from '../../src/alert-inbox.ts';
import { mute } from '../../src/alert-mute.ts';
import { acknowledge } from '../../src/contract.ts';
import type { AlertActs } from './answers-port.ts';
import { ACT_PROBLEMS, type Api } from './api.ts';

const params = z.object({ id: z.string().min(1).max(200) });
/** Acts are rare: a person clicks. */
const config = { rateLimit: { max: 60, timeWindow: 60_000 } };
const FROM_OUR_PAGES =
  'Answers once it is on disk, with its audit row. Only from a page of this gateway: same Origin, content-type application/json and the header `x-glowfleet: 1`.';

const act = <Body extends z.core.$ZodType>(body: Body, { summary, more = '' }: { readonly summary: string; readonly more?: string }) => ({
  config,
  schema: {
    tags: ['alerts'],
    summary,
    description: `${more}${more === '' ? '' : ' '}${FROM_OUR_PAGES}`,
    params,
    body,
    response: { 200: inboxAlert, ...ACT_PROBLEMS },
  },
});

export function alertActRoutes(api: Api, answers: AlertActs): void {
  api.post(
    '/api/alerts/:id/acknowledge',
    act(acknowledge, { summary: 'Acknowledge an alert: somebody saw it', more: 'Nothing is acknowledged at the chamber.' }),
    async ({ params: { id }, body }) => answers.acknowledge(id, body.by),
  );
  api.post(
    '/api/alerts/:id/take',
    act(takeAlert, {
      summary: 'Take an alert: somebody works on it',
      more: 'Who takes it has seen it. Where another has it, `from` names that other, or it is a conflict.',
    }),
    async ({ params: { id }, body }) => answers.take(id, body.by, body.from),
  );
  api.post(
    '/api/alerts/:id/give-back',
    act(byPerson, {
      summary: 'Give an alert back: nobody works on it any more',
      more: 'Anybody may, because who has it may have gone home.',
    }),
    async ({ params: { id }, body }) => answers.giveBack(id, body.by),
  );
  api.post(
    '/api/alerts/:id/comment',
    act(commentAlert, {
      summary: 'Say something about an alert',
      more: 'It is shown with the next one like it. The same words within ten seconds are one comment.',
    }),
    async ({ params: { id }, body }) => answers.comment(id, body.by, body.text),
  );
  muteRoutes(api, answers);
}

function muteRoutes(api: Api, answers: AlertActs): void {
  const about = { config, schema: { tags: ['alerts'], response: { 200: mute, ...ACT_PROBLEMS } } };
  api.post(
    '/api/mutes',
    {
      ...about,
      schema: {
        ...about.schema,
        summary: 'Mute alerts of a kind, of a chamber, of a kind at a chamber, or of a kind where something is shared, until an end',
        description: `Nobody is told of them until then; they stay in the inbox, marked. At most 30 days. ${FROM_OUR_PAGES}`,
        body: muteAlerts,
      },
    },
    async ({ body }) => answers.mute(body),
  );
  api.post(
    '/api/mutes/:id/unmute',
    {
      ...about,
      schema: {
        ...about.schema,
        summary: 'End a mute before its time',
        description: FROM_OUR_PAGES,
        params: z.object({ id: z.coerce.number().int().min(1) }),
        body: byPerson,
      },
    },
    async ({ params: { id }, body }) => answers.unmute(id, body.by),
  );
}
