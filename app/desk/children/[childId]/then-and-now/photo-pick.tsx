"use client";

import styles from "@/app/desk/children/[childId]/then-and-now/then-and-now.module.css";
import type { PairWords, ShownPhoto } from "@/app/desk/children/[childId]/then-and-now/words";
import { besides } from "@/lib/domain/answering/pair";

/** Which photo stands in a place: those seen as the other one is come first. Never the other one itself. */
export function PhotoPick({ label, name, photos, chosen, beside, words, onChoose }: {
  readonly label: string;
  readonly name: string;
  readonly photos: readonly ShownPhoto[];
  readonly chosen: ShownPhoto;
  readonly beside: ShownPhoto;
  readonly words: PairWords;
  readonly onChoose: (photo: ShownPhoto) => void;
}) {
  const { sameView, otherViews } = besides(photos, beside);
  const group = (title: string, some: readonly ShownPhoto[]) => some.length === 0 ? null : (
    <optgroup label={title}>
      {some.map((photo) => <option key={photo.photoId} value={photo.photoId}>{photo.option}</option>)}
    </optgroup>
  );
  return (
    <label className={styles.pick}>
      {label}
      <select name={name} value={chosen.photoId}
        onChange={(event) => {
          const photo = photos.find((each) => each.photoId === event.target.value);
          if (photo) onChoose(photo);
        }}>
        {group(words.sameView, sameView)}
        {group(words.otherViews, otherViews)}
      </select>
    </label>
  );
}
