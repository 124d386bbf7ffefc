"use client";

import styles from "@/app/family/send/send.module.css";
import type { Words } from "@/app/family/send/steps";
import { VIEWS, type View } from "@/lib/domain/setup/vocabulary";

const VIEW_WORD: Readonly<Record<View, string>> = { behind: "viewBehind", front: "viewFront", "head-end": "viewHead", other: "viewOther" };

export function ViewSelect({ value, words, onView }: { readonly value: View; readonly words: Words; readonly onView: (view: View) => void }) {
  return (
    <label className={styles.file}>
      {words["view"]}
      <select value={value} onChange={(event) => onView(VIEWS.find((view) => view === event.target.value) ?? "behind")}>
        {VIEWS.map((view) => <option key={view} value={view}>{words[VIEW_WORD[view]]}</option>)}
      </select>
    </label>
  );
}
