/** The API described: OpenAPI at /api/openapi.json, made of the same zod schemas that check each answer, and a page to read it at /api/docs. */
import swagger from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import type { FastifyInstance } from 'fastify';
import { jsonSchemaTransform } from 'fastify-type-provider-zod';

const ABOUT = `Everything the pages show. Times are epoch milliseconds UTC, spans half-open [from, to), quantities SI unless a name says otherwise.
Glowfleet watches; it commands nothing and is no safety function.`;

/** The page without its bar: there is one description to read, and no other address to fetch one from. */
const THEME = {
  title: 'Glowfleet API',
  css: [{ filename: 'glowfleet.css', content: '.swagger-ui .topbar { display: none; }' }],
};

export async function describeApi(app: FastifyInstance, version: string): Promise<void> {
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: { title: 'Glowfleet', version, description: ABOUT },
      tags: [
        { name: 'live', description: 'What is true now' },
        { name: 'runs', description: 'One processing of one load' },
        { name: 'numbers', description: 'Equipment time and what is computed of it' },
        { name: 'alarms', description: 'The journal' },
        { name: 'alerts', description: 'The inbox' },
        { name: 'messages', description: 'How alerts leave, by each route, and what was given up' },
        { name: 'reasons', description: 'What persons told of a chamber’s time' },
        { name: 'drift', description: 'What changes from run to run, and what that points to' },
        { name: 'maintenance', description: 'What was used since the last maintenance, and when the next is due' },
        { name: 'weeks', description: 'One page a week' },
        { name: 'facts', description: 'What everything is made of' },
        { name: 'health', description: 'The gateway itself' },
      ],
    },
    transform: jsonSchemaTransform,
  });
  await app.register(swaggerUi, { routePrefix: '/api/docs', uiConfig: { docExpansion: 'list', deepLinking: true }, theme: THEME });
  app.get('/api/openapi.json', { schema: { hide: true } }, async () => app.swagger());
}
