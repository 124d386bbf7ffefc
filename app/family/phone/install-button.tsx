"use client";

import { useSyncExternalStore, type ReactNode } from "react";
import { askToInstall, hasInstallPrompt, onInstallPrompt } from "@/app/family/phone/install-prompt";
import { Button } from "@/app/ui/button";

/** Only where the browser offers to ask. */
export function InstallButton({ children }: { readonly children: ReactNode }) {
  const isOffered = useSyncExternalStore(onInstallPrompt, hasInstallPrompt, () => false);
  return isOffered ? <Button kind="quiet" onClick={askToInstall}>{children}</Button> : null;
}
