import { expect, it } from "vitest";
import { steady } from "@/e2e/walk/streams";

/** Rows as React writes them: a number, and what it names by `$L`. The walk tells two people's answers apart by them. */
const PAGE = '1:["$L2","$undefined"]\n2:["$","p",null,{"children":"here"}]\n3:["$","p",null,{"children":"there"}]';

it("knows one stream again whose rows came in another order, under other numbers", () => {
  expect(steady('3:["$","p",null,{"children":"here"}]\n1:["$L3","$undefined"]\n2:["$","p",null,{"children":"there"}]')).toBe(steady(PAGE));
});

it("tells what one says from what another says, and which of its rows it names", () => {
  for (const other of [PAGE.replace("here", "gone"), PAGE.replace("$L2", "$L3"), PAGE.replace("$L2", "$@2"), `${PAGE}\n4:"more"`]) expect(steady(other)).not.toBe(steady(PAGE));
});
