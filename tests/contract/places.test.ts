import { expect, test } from "vitest";
import { placeOf } from "@/app/ui/place-of";

const DESK = ["/desk", "/desk/families", "/desk/caseload", "/desk/sessions", "/desk/teaching", "/desk/times", "/desk/practice"];
const FAMILY = ["/family", "/family/send", "/family/history", "/family/account"];

// Our own navigation; no outside source.
test.each([
  ["/desk", "/desk"],
  ["/desk/families", "/desk/families"],
  ["/desk/families/f1", "/desk/families"],
  ["/desk/children/c1", "/desk/families"],
  ["/desk/children/c1/curve", "/desk/families"],
  ["/desk/children/c1/sets/s1", "/desk"],
  ["/desk/sessions/s1", "/desk/sessions"],
  ["/desk/times", "/desk/times"],
  ["/desk/caseload", "/desk/caseload"],
  ["/desk/children/c1/progress", "/desk/families"],
  ["/desk/teaching/plan", "/desk/teaching"],
  ["/desk/cues", "/desk/practice"],
  ["/desk/exercises", "/desk/practice"],
  ["/desk/exercises/side-lying/edit", "/desk/practice"],
  ["/desk/elsewhere", undefined],
])("at %s the desk marks %s", (path, place) => {
  expect(placeOf(path, DESK)).toBe(place);
});

test.each([
  ["/family", "/family"],
  ["/family/send", "/family/send"],
  ["/family/symptom", undefined],
  ["/family/sending", undefined],
])("at %s a family's page marks %s", (path, place) => {
  expect(placeOf(path, FAMILY)).toBe(place);
});
