/**
 * Keeps a spoken note in this browser from its first second until it is up: second by second while it is
 * recorded, so that a killed tab, a lost line or a lapsed session costs at most the last one. Signing out
 * clears it with everything else the browser holds of the practice.
 */

const NAME = "trueside-spoken-notes";
/** What nobody came back for is thrown away at the next visit. */
const DAYS = 14;

type Head = { readonly id: string; readonly key: string; readonly type: string; readonly startedAt: number; readonly durationMs: number; readonly isFinished: boolean };
type Piece = { readonly id: string; readonly key: string; readonly order: number; readonly bytes: ArrayBuffer };

export type KeptNote = Omit<Head, "id"> & { readonly sound: Blob };

/** One therapist's note for one photo set: nobody else who uses this computer is offered it. */
export const keptId = (personId: string, childId: string, photoSetId: string): string => `${personId}/${childId}/${photoSetId}`;

/** Begins a note in place of any kept before. `key` is what it will be sent under, however often. */
export async function beginKept(id: string, key: string, type: string): Promise<void> {
  await write((heads, pieces) => {
    pieces.delete(IDBKeyRange.bound([id], [id, []]));
    heads.put({ id, key, type, startedAt: Date.now(), durationMs: 0, isFinished: false } satisfies Head);
  });
}

export async function addKept(id: string, key: string, order: number, sound: Blob, durationMs: number): Promise<void> {
  const bytes = await sound.arrayBuffer();
  await write((heads, pieces) => {
    pieces.put({ id, key, order, bytes } satisfies Piece);
    change(heads, id, key, { durationMs });
  });
}

export const finishKept = (id: string, key: string, durationMs: number): Promise<void> => write((heads) => change(heads, id, key, { durationMs, isFinished: true }));

/** Lets go of this note; one that another window has begun since stays. */
export const dropKept = (id: string, key: string): Promise<void> => write((heads, pieces) => {
  pieces.delete(IDBKeyRange.bound([id, key], [id, key, []]));
  ifOf(heads, id, key, () => heads.delete(id));
});

/** The note kept under this id, if any sound of it is. */
export async function readKept(id: string): Promise<KeptNote | null> {
  await dropOld();
  const db = await open();
  try {
    const transaction = db.transaction(["heads", "pieces"], "readonly");
    const head = await asked<Head | undefined>(transaction.objectStore("heads").get(id));
    const pieces = await asked<Piece[]>(transaction.objectStore("pieces").getAll(IDBKeyRange.bound([id, head?.key ?? ""], [id, head?.key ?? "", []])));
    if (!head || pieces.length === 0) return null;
    const { key, type, startedAt, durationMs, isFinished } = head;
    return { key, type, startedAt, durationMs, isFinished, sound: new Blob(pieces.map((piece) => piece.bytes), { type }) };
  } finally {
    db.close();
  }
}

async function dropOld(): Promise<void> {
  const db = await open();
  const heads = await asked<Head[]>(db.transaction("heads", "readonly").objectStore("heads").getAll()).finally(() => db.close());
  for (const { id, key, startedAt } of heads) if (Date.now() - startedAt > DAYS * 86_400_000) await dropKept(id, key);
}

const change = (heads: IDBObjectStore, id: string, key: string, to: Partial<Head>): void => ifOf(heads, id, key, (head) => heads.put({ ...head, ...to }));

function ifOf(heads: IDBObjectStore, id: string, key: string, then: (head: Head) => void): void {
  const reading: IDBRequest<Head | undefined> = heads.get(id);
  reading.addEventListener("success", () => {
    if (reading.result?.key === key) then(reading.result);
  });
}

/** One transaction over both stores; done when it would survive a crash of the tab. */
async function write(run: (heads: IDBObjectStore, pieces: IDBObjectStore) => void): Promise<void> {
  const db = await open();
  try {
    await new Promise<void>((done, failed) => {
      const transaction = db.transaction(["heads", "pieces"], "readwrite");
      transaction.addEventListener("complete", () => done());
      for (const end of ["error", "abort"]) transaction.addEventListener(end, () => failed(transaction.error ?? new Error("not kept")));
      run(transaction.objectStore("heads"), transaction.objectStore("pieces"));
    });
  } finally {
    db.close();
  }
}

function open(): Promise<IDBDatabase> {
  const opening = indexedDB.open(NAME, 1);
  opening.addEventListener("upgradeneeded", () => {
    opening.result.createObjectStore("heads", { keyPath: "id" });
    opening.result.createObjectStore("pieces", { keyPath: ["id", "key", "order"] });
  });
  return asked(opening);
}

function asked<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((done, failed) => {
    request.addEventListener("success", () => done(request.result));
    request.addEventListener("error", () => failed(request.error ?? new Error("not read")));
  });
}
