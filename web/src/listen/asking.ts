// What listening asks of the server; whatever it cannot do comes back in words.

export interface Complaint {
  what: string;
  where: string;
  cure: string;
}

export class Refusal extends Error {
  constructor(readonly complaint: Complaint) {
    super(complaint.what);
  }
}

export const UNREACHED: Complaint = { what: "The desk does not answer.", where: "", cure: "See whether forehear still runs; this page goes on when it does." };

async function fetched(address: string, init?: RequestInit): Promise<Response> {
  const answer = await fetch(address, init).catch(() => null);
  if (answer?.ok) return answer;
  const told = answer?.headers.get("content-type")?.startsWith("application/json") ? await answer.json() : null;
  throw new Refusal(told ?? (answer ? { ...UNREACHED, what: (await answer.text()).trim() || UNREACHED.what } : UNREACHED));
}

export async function read<Found>(address: string): Promise<Found> {
  return (await (await fetched(address)).json()) as Found;
}

export async function send<Found>(address: string, message: object): Promise<Found> {
  const headers = { "content-type": "application/json" };
  return (await (await fetched(address, { method: "POST", headers, body: JSON.stringify(message) })).json()) as Found;
}

export async function put<Found>(address: string, file: Blob): Promise<Found> {
  const headers = { "content-type": "application/octet-stream" };
  return (await (await fetched(address, { method: "POST", headers, body: file })).json()) as Found;
}

export async function bytes(address: string): Promise<ArrayBuffer> {
  return (await fetched(address)).arrayBuffer();
}

export function words_of(error: unknown): Complaint {
  return error instanceof Refusal ? error.complaint : { what: String(error), where: "", cure: "load the page again" };
}
