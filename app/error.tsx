"use client";

import { WentWrong } from "@/app/went-wrong";

export default function ErrorPage({ error, retry }: { readonly error: Error & { digest?: string }; readonly retry: () => void }) {
  return <WentWrong error={error} retry={retry} />;
}
