/**
 * A library value as the tag map wants it: plain, scalar, 64-bit integers exact, a node id as its identifier (the index of its namespace moves).
 * Anything else (arrays, structures, dates) is null.
 */
import { DataType, NodeId, VariantArrayType } from 'node-opcua';
import type { Variant } from 'node-opcua';
import type { RawTagValue } from '../../src/tag-map.ts';

export function rawValue(variant: Variant): RawTagValue {
  const value: unknown = variant.value;
  if (typeof value === 'number' || typeof value === 'boolean' || typeof value === 'string') return value;
  if (variant.arrayType !== VariantArrayType.Scalar) return null;
  if (variant.dataType === DataType.UInt64) return wide(BigInt.asUintN(64, joined(value)));
  if (variant.dataType === DataType.Int64) return wide(BigInt.asIntN(64, joined(value)));
  if (variant.dataType === DataType.LocalizedText) return (value as { text?: string | null } | null)?.text ?? null;
  if (variant.dataType === DataType.NodeId) return identifierOf(value);
  return null;
}

/** `i=5006` of `ns=4;i=5006`, as states are told by OPC 10000-16 in CurrentState.Id. */
const identifierOf = (value: unknown): string | null => (value instanceof NodeId ? value.toString().replace(/^ns=\d+;/, '') : null);

/** The library hands 64-bit integers as [high, low] 32-bit words. */
function joined(value: unknown): bigint {
  const [high = 0, low = 0] = Array.isArray(value) ? (value as number[]) : [];
  return (BigInt(high >>> 0) << 32n) | BigInt(low >>> 0);
}

const wide = (value: bigint): number | bigint =>
  value <= BigInt(Number.MAX_SAFE_INTEGER) && value >= BigInt(Number.MIN_SAFE_INTEGER) ? Number(value) : value;

const BITS: Partial<Record<DataType, number>> = {
  [DataType.Boolean]: 1,
  [DataType.SByte]: 8,
  [DataType.Byte]: 8,
  [DataType.Int16]: 16,
  [DataType.UInt16]: 16,
  [DataType.Int32]: 32,
  [DataType.UInt32]: 32,
  [DataType.Int64]: 64,
  [DataType.UInt64]: 64,
  [DataType.Float]: 24,
  [DataType.Double]: 53,
};

/** How many bits a word of this type has (OPC 10000-6 5.1.2), or how many of a whole number it holds exactly; 0 for what is no number. */
export const bitsOf = (dataType: DataType): number => BITS[dataType] ?? 0;
