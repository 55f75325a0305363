import { describe } from './describe.js';
import type { ItemShape, KeyShape, NamedObject, ObjectShape } from './shape.js';

type Schema = Record<string, unknown>;

/**
 * JSON Schema 2020-12 of an object and of everything in it. Named objects are under `$defs`, in the order in which they
 * first appear. No object may have a key that is not declared.
 * @param head what comes first in the schema, such as `$id` and `title`
 * @returns the schema, to be written with JSON.stringify
 * @throws RangeError when two different objects have the same name
 */
export function jsonSchemaOf(shape: ObjectShape, head: Schema): Schema {
  const names = new Map<string, ObjectShape>();
  const definitions: Schema = {};
  const refer = (object: NamedObject): Schema => {
    const { name } = object;
    if (!names.has(name)) {
      names.set(name, object);
      definitions[name] = null; // keeps its place before the objects inside it
      definitions[name] = objectSchema(object, refer);
    }
    if (names.get(name) !== object) throw new RangeError(`two different objects have the name ${name}`);
    return { $ref: `#/$defs/${name}` };
  };
  return { ...head, ...objectSchema(shape, refer), $defs: definitions };
}

/** Declares a named object and returns the reference to it. */
type Refer = (object: NamedObject) => Schema;

function objectSchema(shape: ObjectShape & { nullWhen?: string }, refer: Refer, description = shape.means): Schema {
  const keys = Object.entries(shape.keys);
  return {
    type: orNull('object', shape),
    description,
    required: keys.filter(([, { absentWhen }]) => absentWhen === undefined).map(([key]) => key),
    properties: Object.fromEntries(keys.map(([key, value]) => [key, keySchema(value, refer)])),
    additionalProperties: false,
  };
}

function keySchema(shape: KeyShape, refer: Refer): Schema {
  const description = describe(shape);
  if (shape.type === 'object') return objectSchema(shape, refer, description);
  if (shape.type !== 'reference') return { description, ...itemSchema(shape, refer) };
  const reference = refer(shape.of);
  return { description, ...(shape.nullWhen ? { anyOf: [reference, { type: 'null' }] } : reference) };
}

function itemSchema(shape: ItemShape | ObjectShape, refer: Refer): Schema {
  switch (shape.type) {
    case 'object':
      return isNamed(shape) ? refer(shape) : objectSchema(shape, refer);
    case 'string':
      return {
        type: orNull('string', shape),
        ...present({ pattern: shape.pattern, contentEncoding: shape.encoding }),
      };
    case 'constant':
      return { const: shape.value };
    case 'choice':
      return { enum: shape.nullWhen === undefined ? [...shape.words] : [...shape.words, null] };
    case 'boolean':
      return { type: orNull('boolean', shape) };
    case 'number':
      return { type: orNull('number', shape), ...present({ minimum: shape.min, exclusiveMinimum: shape.above }) };
    case 'integer':
      return { type: orNull('integer', shape), ...present({ minimum: shape.min, maximum: shape.max }) };
    case 'field':
      return { type: ['string', 'number', 'null'] };
    case 'list': {
      const size = shape.entries?.length;
      const items = itemSchema(shape.of, refer);
      return { type: orNull('array', shape), items, ...present({ minItems: size, maxItems: size }) };
    }
    case 'map':
      return { type: orNull('object', shape), additionalProperties: itemSchema(shape.of, refer) };
  }
}

function isNamed(shape: ObjectShape): shape is NamedObject {
  return shape.name !== undefined;
}

function orNull(type: string, { nullWhen }: { nullWhen?: string }): string | string[] {
  return nullWhen === undefined ? type : [type, 'null'];
}

/** The entries that are not undefined. */
function present(entries: Schema): Schema {
  return Object.fromEntries(Object.entries(entries).filter(([, value]) => value !== undefined));
}
