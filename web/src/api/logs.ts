/** Logs at the server: sent, listed, mapped, noted. What they say comes through `Found` and `Part`. */
import { ask, Refused, revisionPath, send } from "./client";
import type { Id, LogEntry, LogNote, LogWords, NewLog, RoleColumns, Uploaded } from "./types";

const logPath = (log: Id): string => `/api/logs/${encodeURIComponent(String(log))}`;

export const logsApi = {
  list: (): Promise<LogEntry[]> => ask("/api/logs"),
  columns: (): Promise<RoleColumns[]> => ask("/api/logs/columns"),
  add: (log: NewLog): Promise<LogEntry> => send("POST", "/api/logs", log),
  setWords: (log: Id, words: LogWords): Promise<LogEntry> => send("POST", `${logPath(log)}/words`, words),
  remove: (log: Id): Promise<unknown> => ask(logPath(log), { method: "DELETE" }),
  notes: (log: Id, day: string): Promise<LogNote[]> => ask(`${logPath(log)}/notes?day=${encodeURIComponent(day)}`),
  note: (log: Id, note: LogNote): Promise<LogNote[]> => send("POST", `${logPath(log)}/notes`, note),
  /** A part of what a log says; none before it was read. */
  part: async <T>(revision: Id, path: string): Promise<T | null> => {
    try {
      return await ask<T>(`${revisionPath(revision)}/${path}`);
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return null;
      throw error;
    }
  },
  upload,
};

interface Said {
  error?: { code: string; message: string; mend: string };
}

/** Whether a reply tells what became of a file, so that nothing half read is shown. */
export function isUploaded(body: unknown): body is Uploaded {
  if (typeof body !== "object" || body === null) return false;
  const { files, problems, words } = body as Partial<Record<keyof Uploaded, unknown>>;
  const isFile = (file: unknown): boolean =>
    typeof file === "object" &&
    file !== null &&
    typeof (file as { name?: unknown }).name === "string" &&
    typeof (file as { digest?: unknown }).digest === "string" &&
    Array.isArray((file as { columns?: unknown }).columns);
  return (
    Array.isArray(files) &&
    files.every(isFile) &&
    Array.isArray(problems) &&
    typeof words === "object" &&
    words !== null
  );
}

function read(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return null;
  }
}

/** Sends a file as it lies on the reader's disk; only this way tells how much has gone. */
function upload(file: File, told: (share: number) => void): Promise<Uploaded> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/logs/files?name=${encodeURIComponent(file.name)}`);
    request.setRequestHeader("content-type", "application/octet-stream");
    request.upload.onprogress = (event) => told(event.total > 0 ? event.loaded / event.total : 0);
    request.onerror = () => reject(new Error("the server does not answer, or has closed the line"));
    request.onload = () => {
      const body = read(request.responseText);
      if (request.status < 300 && isUploaded(body)) return resolve(body);
      const said = request.status < 300 ? undefined : (body as Said | null)?.error;
      reject(
        new Refused(
          request.status,
          said?.code ?? "",
          said?.message ??
            (request.status < 300 ? "the server's answer cannot be read" : `the server answered ${request.status}`),
          said?.mend ?? "",
          [],
          [],
        ),
      );
    };
    request.send(file);
  });
}
