"use client";

import "@/app/tokens.css";
import { WentWrong } from "@/app/went-wrong";

/** Stands in for the whole page when the layout itself fails. */
export default function GlobalError({ error, retry }: { readonly error: Error & { digest?: string }; readonly retry: () => void }) {
  return (
    <html lang="en">
      <body>
        <title>Something went wrong</title>
        <WentWrong error={error} retry={retry} />
      </body>
    </html>
  );
}
