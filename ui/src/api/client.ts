/* The only place that asks the server.  Every answer is the engine's; errors carry its words. */

export interface Problem {
  code: string;
  is_warning: boolean;
  says: string;
  hint: string | null;
  file?: string; /* its name without its folder: of the house, or of its parts */
  line: number | null;
  column?: number;
  byte?: number;
  bytes?: number;
  path?: string | null; /* of the value it lies in, as edits name it */
}

/* What the server would not do, and why in its own words. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problems: Problem[],
  ) {
    super(problems[0]?.says ?? `the server answered ${status}`);
  }
}

export interface Answer<T> {
  body: T;
  revision: number;
  tag: string; /* of the state that it is of: another whenever the house or its parts file is */
}

const tagOf = (response: Response): string => response.headers.get('ETag')?.replace(/^(W\/)?"|"$/g, '') ?? '';

function revisionOf(response: Response): number {
  const found = /"r(\d+)/.exec(response.headers.get('ETag') ?? '');
  return found ? Number(found[1]) : 0;
}

async function problemsOf(response: Response): Promise<Problem[]> {
  try {
    const said = (await response.json()) as { problems?: Problem[] };
    if (said.problems?.length) return said.problems;
  } catch {
    /* no JSON: the status alone must do */
  }
  const says =
    response.status === 401 || response.status === 403
      ? 'this browser is not let in any more: start the program again and open the link it prints'
      : response.status === 404
        ? 'this version of the program does not answer that'
        : `the server answered ${response.status}`;
  return [{ code: 'http', is_warning: false, says, hint: null, line: null }];
}

export interface Asking {
  body?: BodyInit;
  type?: string;
  revision?: number;
  signal?: AbortSignal;
}

export async function fetchRaw(method: string, path: string, how: Asking = {}): Promise<Response> {
  const headers: Record<string, string> = {};
  if (how.type) headers['Content-Type'] = how.type;
  if (how.revision) headers['If-Match'] = `"r${how.revision}"`;
  let response: Response;
  try {
    const { body, signal } = how;
    const coming = await fetch(path, { method, headers, body, signal, credentials: 'same-origin' });
    /* read to its end here: an answer that breaks off is none */
    const bytes = await coming.arrayBuffer();
    response = new Response(bytes.byteLength ? bytes : null, { status: coming.status, headers: coming.headers });
  } catch (e) {
    if (e instanceof DOMException && e.name === 'AbortError') throw e;
    throw new Refused(0, [
      {
        code: 'http',
        is_warning: false,
        says: 'the program does not answer: it was stopped, or is busy',
        hint: 'start it again, and open the link it prints',
        line: null,
      },
    ]);
  }
  if (!response.ok) throw new Refused(response.status, await problemsOf(response));
  return response;
}

export async function getJson<T>(path: string, signal?: AbortSignal): Promise<Answer<T>> {
  const response = await fetchRaw('GET', path, { signal });
  return { body: (await response.json()) as T, revision: revisionOf(response), tag: tagOf(response) };
}

export async function postJson<T>(path: string, body?: unknown, revision?: number): Promise<Answer<T>> {
  const response = await fetchRaw('POST', path, {
    body: body === undefined ? undefined : JSON.stringify(body),
    type: body === undefined ? undefined : 'application/json',
    revision,
  });
  const text = await response.text();
  return { body: (text ? JSON.parse(text) : {}) as T, revision: revisionOf(response), tag: tagOf(response) };
}

export async function getText(path: string): Promise<Answer<string>> {
  const response = await fetchRaw('GET', path);
  return { body: await response.text(), revision: revisionOf(response), tag: tagOf(response) };
}

export async function putText<T>(path: string, text: string, revision: number): Promise<Answer<T>> {
  const response = await fetchRaw('PUT', path, { body: text, type: 'application/yaml', revision });
  return { body: (await response.json()) as T, revision: revisionOf(response), tag: tagOf(response) };
}

export const query = (values: Record<string, string | number | undefined>): string => {
  const q = new URLSearchParams();
  for (const [key, value] of Object.entries(values)) if (value !== undefined && value !== '') q.set(key, String(value));
  return q.toString();
};
