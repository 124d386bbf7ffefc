import type { ReactNode } from "react";
import { renderToReadableStream } from "react-dom/server";

/** A page as a browser without scripts gets it. */
export async function markupOf(page: ReactNode): Promise<string> {
  const stream = await renderToReadableStream(page);
  await stream.allReady;
  return (await new Response(stream).text()).replaceAll("<!-- -->", "");
}
