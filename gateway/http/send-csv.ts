/** A table leaves as a download whose name is ours alone: nothing of a plant's text gets into a header. */
import type { FastifyReply } from 'fastify';

export function sendCsv(reply: FastifyReply, name: string, text: string): FastifyReply {
  return reply
    .header('content-disposition', `attachment; filename="glowfleet-${name}.csv"`)
    .type('text/csv; charset=utf-8')
    .serializer(String)
    .send(text);
}
