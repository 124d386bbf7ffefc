import { expect, it } from "vitest";
import { typedSince } from "@/app/ui/typed-keep";

function form(...fields: readonly (readonly [string, string])[]): FormData {
  const made = new FormData();
  for (const [name, value] of fields) made.append(name, value);
  return made;
}

it("a form that comes back holds what was changed while it was on its way, and nothing else", () => {
  const sent = form(["once", "k"], ["summary", "Lie on the LEFT."], ["next", "keep-going"], ["press", "send"]);
  expect(typedSince(sent, form(["once", "k"], ["summary", "Lie on the LEFT."], ["next", "keep-going"]), [])).toEqual({});
  expect(typedSince(sent, form(["once", "k2"], ["summary", "Lie on the LEFT. Well done."], ["next", "new-photo"], ["code", "12345678"]), [])).toEqual({ summary: "Lie on the LEFT. Well done.", next: "new-photo" });
});

it("a tick set or taken away meanwhile stays so; the button that was pressed is no tick", () => {
  const sent = form(["felt", "dizzy"], ["felt", "new-limp"], ["agreed", "yes"], ["press", "send"]);
  expect(typedSince(sent, form(["felt", "dizzy"], ["felt", "night-pain"]), ["felt", "felt", "felt", "agreed"])).toEqual({ felt: "dizzy\nnight-pain", agreed: "" });
});
