"use client";

import { Button } from "@/app/ui/button";

/** How fast a note or a clip plays, a button each; `times` holds `{n}`. Only once scripts run: numbers are written as the page's language writes them. */
export function Speeds({ speeds, chosen, times, onChoose }: { readonly speeds: readonly number[]; readonly chosen: number; readonly times: string; readonly onChoose: (speed: number) => void }) {
  const written = new Intl.NumberFormat(document.documentElement.lang);
  return speeds.map((each) => (
    <Button key={each} kind="quiet" aria-pressed={chosen === each} aria-label={times.replace("{n}", written.format(each))} onClick={() => onChoose(each)}>{written.format(each)}×</Button>
  ));
}
