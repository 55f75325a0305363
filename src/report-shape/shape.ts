/**
 * The words in which the objects of report.json are declared. A declaration is a readonly literal. The TypeScript types
 * (`ValueOf`), the order of keys, the JSON Schema, the reference page and the columns of the CSV files come from it.
 */

/** Units of a key whose unit is always the same. `none`: codes, and numbers that only name a place in a list. */
export type FixedUnit = 'm' | 'm2' | 'm/m' | 'm/unit' | 'count' | 'share' | 'bytes' | 'none';

/** A number states its unit (`unit`), or the key of the report that names it (`unitIn`). */
type WithUnit = { unit: FixedUnit; unitIn?: never } | { unitIn: string; unit?: never };

interface StringShape {
  type: 'string';
  pattern?: string;
  encoding?: 'base64';
}

/** Always this text. */
interface ConstantShape {
  type: 'constant';
  value: string;
}

/** One of these words. */
interface ChoiceShape {
  type: 'choice';
  words: readonly string[];
}

interface BooleanShape {
  type: 'boolean';
}

type NumberShape = WithUnit & {
  type: 'number';
  /** Smallest value. */
  min?: number;
  /** The value is greater than this. */
  above?: number;
};

type IntegerShape = WithUnit & { type: 'integer'; min: number; max?: number };

/** A field of a table of evidence: text, a number, or null. */
interface FieldShape {
  type: 'field';
  unitIn: string;
}

interface ListShape {
  type: 'list';
  of: ItemShape | ObjectShape;
  /** What each entry is; the list always has as many entries. */
  entries?: readonly string[];
}

/** An object whose keys are names of figures, written in alphabetical order. */
interface MapShape {
  type: 'map';
  of: ItemShape;
}

/** An object with these keys, written in this order. With a `name` it is declared once in the schema and referred to. */
export interface ObjectShape {
  type: 'object';
  name?: string;
  /** What it is: one sentence. */
  means: string;
  keys: Readonly<Record<string, KeyShape>>;
}

/** A named object under a key. */
interface ReferenceShape {
  type: 'reference';
  of: NamedObject;
}

/** An object that the schema declares once, under its name. */
export type NamedObject = ObjectShape & { name: string };

type BareShape =
  | StringShape
  | ConstantShape
  | ChoiceShape
  | BooleanShape
  | NumberShape
  | IntegerShape
  | FieldShape
  | ListShape
  | MapShape;

/** An entry of a list or of a map. `nullWhen` is given where an entry may be null, and says when it is. */
export type ItemShape = BareShape & { nullWhen?: string };

/** The value of a key. */
export type KeyShape = (BareShape | ReferenceShape | ObjectShape) & {
  /** What the value says: one sentence. */
  means: string;
  /** Given where the value may be null: when it is. */
  nullWhen?: string;
  /** Given where the key may be absent: when it is. */
  absentWhen?: string;
  /**
   * Names of the columns in CSV files, where they are not the key in snake case; none for a value that has no column. A
   * list has a column for each of its `entries`; other lists, maps and objects have none.
   */
  csv?: readonly string[];
};

/** The TypeScript type of what a shape declares. */
export type ValueOf<S> = PlainValue<S> | (S extends { nullWhen: string } ? null : never);

type PlainValue<S> = S extends { type: 'string' }
  ? string
  : S extends { type: 'constant'; value: infer Value }
    ? Value
    : S extends { type: 'choice'; words: readonly (infer Word)[] }
      ? Word
      : S extends { type: 'number' | 'integer' }
        ? number
        : S extends { type: 'boolean' }
          ? boolean
          : S extends { type: 'field' }
            ? string | number | null
            : S extends { type: 'list'; of: infer Item }
              ? ValueOf<Item>[]
              : S extends { type: 'map'; of: infer Item }
                ? Record<string, ValueOf<Item>>
                : S extends { type: 'reference'; of: infer Named }
                  ? ValueOf<Named>
                  : S extends { type: 'object'; keys: infer Keys }
                    ? ObjectValue<Keys>
                    : never;

type ObjectValue<Keys> = Flat<
  {
    -readonly [Key in keyof Keys as Keys[Key] extends { absentWhen: string } ? never : Key]: ValueOf<Keys[Key]>;
  } & {
    -readonly [Key in keyof Keys as Keys[Key] extends { absentWhen: string } ? Key : never]?: ValueOf<Keys[Key]>;
  }
>;

/** One object type in place of an intersection, so that messages of the compiler show its keys. */
type Flat<T> = { [Key in keyof T]: T[Key] };
