import fc, { type Arbitrary } from 'fast-check';
import { z } from 'zod';

/**
 * Values that pass a schema, made from the schema itself, so that a method added to the table is covered without
 * anybody remembering to. An unknown kind of schema is an error, not a gap.
 */
type Def = {
  readonly type: string;
  readonly shape?: Record<string, z.ZodType>;
  readonly innerType?: z.ZodType;
  readonly element?: z.ZodType;
  readonly options?: readonly z.ZodType[];
  readonly items?: readonly z.ZodType[];
  readonly entries?: Record<string, string | number>;
  readonly values?: readonly unknown[];
  readonly in?: z.ZodType;
  readonly left?: z.ZodType;
  readonly right?: z.ZodType;
  readonly keyType?: z.ZodType;
  readonly valueType?: z.ZodType;
};

/** Ids that exist, so that some calls reach further than "not found". */
export type Known = { readonly ids: readonly string[]; readonly bytes: readonly Uint8Array[] };

export function valid(schema: z.ZodType, known: Known): Arbitrary<unknown> {
  const made = raw(schema, known);
  // Checks that the parts do not show (refinements, several patterns) are left to the schema itself.
  return made.filter((value) => schema.safeParse(value).success);
}

function raw(schema: z.ZodType, known: Known): Arbitrary<unknown> {
  const def = schema.def as unknown as Def;
  const of = (inner: z.ZodType): Arbitrary<unknown> => raw(inner, known);
  switch (def.type) {
    case 'object':
      return fc.record(
        Object.fromEntries(Object.entries(def.shape ?? {}).map(([key, one]) => [key, of(one)])),
      );
    case 'array':
      return fc.array(of(def.element!), { maxLength: 4 });
    case 'tuple':
      return fc.tuple(...(def.items ?? []).map(of));
    case 'record':
      return fc.dictionary(of(def.keyType!) as Arbitrary<string>, of(def.valueType!), { maxKeys: 3 });
    case 'union':
      return fc.oneof(...(def.options ?? []).map(of));
    case 'intersection':
      return fc.tuple(of(def.left!), of(def.right!)).map(([a, b]) => Object.assign({}, a, b) as unknown);
    case 'nullable':
      return fc.oneof(fc.constant(null), of(def.innerType!));
    case 'optional':
    case 'default':
    case 'prefault':
      return fc.oneof(fc.constant(undefined), of(def.innerType!));
    case 'readonly':
    case 'nonoptional':
    case 'catch':
      return of(def.innerType!);
    case 'pipe':
      return of(def.in!);
    case 'enum':
      return fc.constantFrom(...Object.values(def.entries ?? {}));
    case 'literal':
      return fc.constantFrom(...(def.values ?? []));
    case 'boolean':
      return fc.boolean();
    case 'null':
      return fc.constant(null);
    case 'unknown':
    case 'any':
      return fc.anything();
    case 'number':
      return numbers(schema as z.ZodNumber);
    case 'string':
      return texts(schema as z.ZodString, known);
    case 'custom':
      return fc.oneof(fc.constantFrom(...known.bytes), fc.uint8Array({ maxLength: 200 }));
    default:
      throw new Error(`fuzz-schema: values of the kind "${def.type}" are not made yet`);
  }
}

function numbers(schema: z.ZodNumber): Arbitrary<number> {
  const { minValue, maxValue, format } = schema;
  const least = Math.max(minValue ?? -1e6, -1e6);
  const most = Math.min(maxValue ?? 1e6, 1e6);
  if (format === 'safeint') return fc.integer({ min: Math.ceil(least), max: Math.floor(most) });
  return fc.oneof(
    fc.double({ min: least, max: most, noNaN: true }),
    fc.constantFrom(least, most, Number.MIN_VALUE, 1),
  );
}

/** Control characters, halves of pairs, right-to-left marks, markup, formulas, paths: text that people really meet. */
const ODD_TEXT = [
  '=1+1',
  '+cmd|calc',
  '<script>alert(1)</script>',
  '../../etc/passwd',
  '\u0000\u0001',
  '\ud800',
  '\u202egpj.exe',
  "'; DROP TABLE stylus; --",
  'ǻ'.repeat(40),
  '\u{1f3b5}',
];

function texts(schema: z.ZodString, known: Known): Arbitrary<string> {
  const described = z.toJSONSchema(schema);
  const text = described.pattern ?? described.allOf?.find((one) => one.pattern !== undefined)?.pattern;
  const pattern = text === undefined ? undefined : new RegExp(text);
  const least = schema.minLength ?? 0;
  const most = Math.min(schema.maxLength ?? 60, 60);
  if (pattern !== undefined) {
    const fitting = known.ids.filter((id) => pattern.test(id));
    const made = fc.stringMatching(pattern);
    return fitting.length === 0 ? made : fc.oneof(fc.constantFrom(...fitting), made);
  }
  return fc.oneof(
    fc.string({ minLength: least, maxLength: most, unit: 'binary' }),
    fc.constantFrom(...ODD_TEXT),
  );
}

/** Anything that can cross the border between the processes, and much that cannot. */
export const anythingAtAll = fc.anything({
  withBigInt: true,
  withDate: true,
  withMap: true,
  withSet: true,
  withTypedArray: true,
  withSparseArray: true,
  withNullPrototype: true,
  withBoxedValues: true,
});

/** A value that passes with one part of it, at any depth, exchanged for anything, left out, or joined by another. */
export function spoiled(schema: z.ZodType, known: Known): Arbitrary<unknown> {
  return fc
    .tuple(valid(schema, known), fc.array(fc.nat(), { minLength: 1, maxLength: 4 }), fc.nat(2), anythingAtAll)
    .map(([value, way, how, other]) => spoil(value, way, how, other));
}

function spoil(value: unknown, way: readonly number[], how: number, other: unknown): unknown {
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return other;
  const keys = Object.keys(value);
  const copy = (Array.isArray(value) ? [...(value as unknown[])] : { ...value }) as Record<string, unknown>;
  const [turn = 0, ...rest] = way;
  const key = keys[turn % Math.max(1, keys.length)];
  if (key === undefined || (rest.length === 0 && how === 2)) copy['unasked'] = other;
  else if (rest.length > 0) copy[key] = spoil(copy[key], rest, how, other);
  else if (how === 0) copy[key] = other;
  else delete copy[key];
  return copy;
}
