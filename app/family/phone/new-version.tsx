"use client";

import { useEffect, useState } from "react";
import { linkWorker, renew } from "@/app/family/phone/worker-link";
import { rememberWho } from "@/app/family/phone/shared-photos";
import "@/app/family/phone/install-prompt";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { hasUnsent } from "@/app/ui/unsent";

type Words = Readonly<Record<"title" | "what" | "unsent" | "reload" | "anyway", string>>;

/** Installs the worker, tells it who is signed in, and says when a new one waits. It never reloads by itself, and warns before anything typed would go. */
export function NewVersion({ personId, words }: { readonly personId: string; readonly words: Words }) {
  const [waiting, setWaiting] = useState<ServiceWorker | null>(null);
  const [isWarned, setIsWarned] = useState(false);
  useEffect(() => linkWorker(setWaiting), []);
  useEffect(() => {
    // A browser that keeps nothing takes no shares.
    if ("caches" in globalThis) rememberWho(personId).catch(() => {});
  }, [personId]);
  const press = (to: ServiceWorker) => {
    if (!isWarned && hasUnsent(document)) setIsWarned(true);
    else renew(to);
  };
  return (
    <div aria-live="polite">
      {waiting ? (
        <Notice kind="info" title={words.title}>
          <p>{isWarned ? words.unsent : words.what}</p>
          <Button kind="quiet" onClick={() => press(waiting)}>{isWarned ? words.anyway : words.reload}</Button>
        </Notice>
      ) : null}
    </div>
  );
}
