import type { FactOf, FactRequest, NoExcess } from './contract/measurement.js';
import type { RegisteredFact } from './index.js';

/** Every registered fact by its id: [type of its parameters, type of its result]. */
type FactTypes = { [Source in RegisteredFact as Source['id']]: FactOf<Source> };

export type FactId = keyof FactTypes;

/** The parameters of a fact. */
export type ParamsOf<Id extends FactId> = FactTypes[Id][0];

/** A request for a registered fact, with the parameters of that fact. */
export type RequestOf<Id extends FactId> = FactRequest<Id, ParamsOf<Id>>;

/** The result of a request; `unknown` where the id of the request is not known to the compiler. */
export type ResultOf<Request> =
  Request extends FactRequest<infer Id> ? (Id extends FactId ? FactTypes[Id][1] : unknown) : never;

/** The facts that somebody asks for, each under a name; undefined where the requirement does not need it. */
export type FactRequests = Readonly<Record<string, FactRequest | undefined>>;

/** The results of named requests, under the same names. A request that may be undefined gives a result that may be. */
export type ResultsOf<Requests> = {
  [Name in keyof Requests as undefined extends Requests[Name] ? never : Name]: ResultOf<Requests[Name]>;
} & {
  [Name in keyof Requests as undefined extends Requests[Name] ? Name : never]?: ResultOf<Requests[Name]>;
};

/**
 * A request for a registered fact. An unknown id, and a parameter that is unknown, missing or of another type, do not
 * compile; also where the parameters come from a variable or a spread.
 */
export function fact<Id extends FactId, Given extends ParamsOf<Id>>(
  id: Id,
  params: Given & NoExcess<Given, ParamsOf<Id>>,
): RequestOf<Id> {
  return { measurement: id, params };
}

/** The requests themselves, without those that are undefined. */
export function requestList(requests: FactRequests): FactRequest[] {
  return Object.values(requests).filter((request) => request !== undefined);
}
