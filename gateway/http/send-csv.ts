/** A table leaves as a download whose name is ours alone: nothing of a plant's text gets into a header. */
import { Readable } from 'node:stream';
import type { FastifyReply } from 'fastify';
import { csv, csvHead, csvLines, type Column } from './csv.ts';

type Table<Row> = { readonly name: string; readonly columns: readonly Column<Row>[] };
type Portions<Row> = AsyncIterable<readonly Row[]>;

export function sendCsv<Row>(reply: FastifyReply, { name, columns }: Table<Row>, rows: readonly Row[]): FastifyReply {
  return named(reply, name).serializer(String).send(csv(columns, rows));
}

/** As long as rows come, however many; what is wrong with the question is told before the first of them. */
export async function streamCsv<Row>(
  reply: FastifyReply,
  { name, columns }: Table<Row>,
  { rows, limit = Infinity }: { readonly rows: Portions<Row>; readonly limit?: number | undefined },
): Promise<FastifyReply> {
  const portions = rows[Symbol.asyncIterator]();
  let next = await portions.next();
  async function* lines(): AsyncGenerator<string> {
    yield csvHead(columns);
    for (let left = limit; next.done !== true && left > 0; next = await portions.next()) {
      const some = next.value.slice(0, left);
      left -= some.length;
      if (some.length > 0) yield csvLines(columns, some);
    }
    await portions.return?.();
  }
  return named(reply, name).send(Readable.from(lines()));
}

const named = (reply: FastifyReply, name: string): FastifyReply =>
  reply.header('content-disposition', `attachment; filename="glowfleet-${name}.csv"`).type('text/csv; charset=utf-8');
