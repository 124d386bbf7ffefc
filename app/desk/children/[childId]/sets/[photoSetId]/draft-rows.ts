import { differing, type DraftFields } from "@/lib/domain/answering/draft-fields";
import { readPair } from "@/lib/domain/answering/pair";
import { secondsOf } from "@/lib/domain/clip/moment";
import { readSpan } from "@/lib/domain/clip/span";

/** Names of fields and of the values they can hold, in words; `{n}` in `marks` stays to be filled. */
export type DraftWords = {
  readonly fields: Readonly<Record<string, string>>;
  readonly values: Readonly<Record<string, string>>;
  readonly nothing: string;
  readonly marks: string;
  readonly voice: string;
  /** Of photos that may stand in a pair, by id; `{first}` and `{second}` in `pair` stay to be filled. */
  readonly photos: Readonly<Record<string, string>>;
  readonly pair: string;
  readonly gone: string;
  /** `{from}` and `{to}` stay to be filled. */
  readonly span: string;
  readonly other: string;
};

export type DraftRow = { readonly name: string; readonly label: string; readonly one: string; readonly two: string };

/** What differs between two drafts, field by field, in words. */
export const draftRows = (one: DraftFields, two: DraftFields, words: DraftWords): readonly DraftRow[] =>
  differing(one, two).map((name) => ({
    name, label: words.fields[name] ?? words.other, one: said(name, one[name] ?? "", words), two: said(name, two[name] ?? "", words),
  }));

function said(name: string, value: string, words: DraftWords): string {
  if (value === "") return words.nothing;
  if (name === "voice") return words.voice;
  if (name.startsWith("pair.")) {
    const [first, second] = [readPair(value).thenPhotoId, readPair(value).nowPhotoId].map((photoId) => words.photos[photoId] ?? words.gone);
    return words.pair.replace("{first}", () => first ?? "").replace("{second}", () => second ?? "");
  }
  const span = name.startsWith("span.") ? readSpan(value) : null;
  if (span) return words.span.replace("{from}", String(secondsOf(span.fromMs))).replace("{to}", String(secondsOf(span.toMs)));
  if (!name.startsWith("marks.")) return words.values[value] ?? value;
  return words.marks.replace("{n}", String(value.split('"kind"').length - 1));
}
