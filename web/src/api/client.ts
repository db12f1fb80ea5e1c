import type { paths } from './schema';

/** One sentence that the server, or the lack of it, says to a person. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly status: number,
    readonly current: unknown = null,
  ) {
    super(message);
  }
}

type Method = 'get' | 'post' | 'put' | 'patch' | 'delete';
type PathsWith<M extends Method> = { [P in keyof paths]: paths[P] extends Record<M, object> ? P : never }[keyof paths];
type Operation<M extends Method, P extends keyof paths> = paths[P][M & keyof paths[P]];
type Json<T> = T extends { content: { 'application/json': infer B } } ? B : undefined;
type Answers<O> = O extends { responses: infer R } ? R : never;
type Good<R> = R extends { 200: infer A } ? Json<A> : R extends { 201: infer A } ? Json<A> : R extends { 202: infer A } ? Json<A> : undefined;
type Asked<O, K extends 'path' | 'query'> = O extends { parameters: { [k in K]?: infer V } } ? V : never;
export type Body<O> = O extends { requestBody?: infer R } ? (NonNullable<R> extends { content: { 'application/json': infer B } } ? B : undefined) : undefined;

export interface Ask<O> {
  path?: Asked<O, 'path'>;
  query?: Asked<O, 'query'>;
  body?: Body<O>;
}

/** One call of the room's server, typed by its OpenAPI document. Addresses are relative to the page. Raises Refused. */
export async function call<M extends Method, P extends PathsWith<M>>(
  method: M,
  path: P,
  ask: Ask<Operation<M, P>> = {},
): Promise<Good<Answers<Operation<M, P>>>> {
  const body = ask.body === undefined ? {} : { body: JSON.stringify(ask.body), headers: { 'Content-Type': 'application/json' } };
  const answer = await reach(address(path, ask.path ?? {}, ask.query ?? {}), { method: method.toUpperCase(), ...body });
  const text = await answer.text();
  return (text ? JSON.parse(text) : undefined) as Good<Answers<Operation<M, P>>>;
}

/** The animator's answers go up as a file. */
export async function sendFile<T>(path: string, file: File): Promise<T> {
  const form = new FormData();
  form.append('file', file);
  const answer = await reach(path, { method: 'POST', body: form });
  return (await answer.json()) as T;
}

async function reach(url: string, init: RequestInit): Promise<Response> {
  const answer = await fetch(url, init).catch(() => {
    throw new Refused('The room does not answer; see whether shotcrit is still running, then reload this page.', 0);
  });
  if (answer.ok) return answer;
  const said = (await answer.json().catch(() => ({}))) as { says?: string; current?: unknown };
  throw new Refused(said.says ?? `The room answered with ${answer.status}; reload this page.`, answer.status, said.current);
}

function address(path: string, parts: object, query: object): string {
  const filled = Object.entries(parts).reduce((p, [name, value]) => p.replace(`{${name}}`, encodeURIComponent(String(value))), path);
  const asked = new URLSearchParams(Object.entries(query).map(([name, value]) => [name, String(value)])).toString();
  return filled.slice(1) + (asked ? `?${asked}` : '');
}
