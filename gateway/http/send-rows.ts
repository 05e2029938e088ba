/** A list with a limit leaves with the word whether it was cut: the header `x-more` is `true` when there are more rows than asked for. */
import type { FastifyReply } from 'fastify';

/** `rows` were asked for with one more than `limit`. */
export function cut<Row>(reply: FastifyReply, rows: readonly Row[], limit: number): Row[] {
  void reply.header('x-more', String(rows.length > limit));
  return rows.slice(0, limit);
}
