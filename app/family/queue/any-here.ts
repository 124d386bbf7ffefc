import { NAME } from "@/app/family/queue/alone";

/** Some browsers say nothing of their databases, or not until one is opened. */
const PATIENCE_MS = 3000;

/** Whether this phone ever kept a set. Where the browser does not say, it may have. */
export async function anyHere(): Promise<boolean> {
  try {
    const late = new Promise<never>((_, reject) => setTimeout(() => reject(new Error("no word of databases")), PATIENCE_MS));
    return (await Promise.race([indexedDB.databases(), late])).some(({ name }) => name === NAME);
  } catch {
    return true;
  }
}
