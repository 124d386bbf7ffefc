import { useEffect, useRef, useState } from "react";

const RENEW_MS = 60_000;
const ACTIVE = ["input", "keydown", "pointerdown"] as const;

/** Who answers just now: nobody else, a colleague, or a colleague who took it over from here. */
export type Held = { readonly by: "me" } | { readonly by: "colleague" | "taken-over"; readonly name: string } | { readonly by: "answered" };

/**
 * Says to colleagues that this set is being answered here, and goes on saying it while somebody is at it.
 * Once a colleague has it, nothing is claimed again unless it is taken over.
 */
export function useClaim(childId: string, photoSetId: string, isAsked: boolean): { readonly held: Held; readonly takeOver: () => void } {
  const [held, setHeld] = useState<Held>({ by: "me" });
  const claimNow = useRef<(takeOver: boolean) => void>(() => {});

  useEffect(() => {
    if (!isAsked) return;
    let isActive = true;
    let wasMine = false;
    let isLost = false;
    const claim = async (takeOver: boolean) => {
      if (isLost && !takeOver) return;
      const answer = await fetch(`/api/claims/${childId}/${photoSetId}${takeOver ? "?take-over=yes" : ""}`, { method: "POST" }).catch(() => null);
      if (!answer) return;
      const claimed: unknown = await answer.json().catch(() => null);
      if (answer.status === 409 && JSON.stringify(claimed).includes("answered-already")) return setHeld({ by: "answered" });
      if (!answer.ok) return;
      if (typeof claimed !== "object" || claimed === null || !("isMine" in claimed) || !("name" in claimed)) return;
      const isMine = claimed.isMine === true;
      setHeld(isMine ? { by: "me" } : { by: wasMine || isLost ? "taken-over" : "colleague", name: String(claimed.name) });
      isLost = !isMine && wasMine;
      wasMine = isMine;
    };
    claimNow.current = (takeOver) => void claim(takeOver);
    void claim(false);
    // Renewed only while somebody is at it, so that a page left open gives the set back.
    const onActive = () => {
      isActive = true;
    };
    const timer = window.setInterval(() => {
      if (isActive) void claim(false);
      isActive = false;
    }, RENEW_MS);
    for (const kind of ACTIVE) document.addEventListener(kind, onActive);
    return () => {
      window.clearInterval(timer);
      for (const kind of ACTIVE) document.removeEventListener(kind, onActive);
    };
  }, [childId, photoSetId, isAsked]);

  return { held, takeOver: () => claimNow.current(true) };
}
