import ts from "typescript";

/** One small change to a source text: `from` at `start` becomes `to`. */
export type Mutation = { readonly start: number; readonly line: number; readonly from: string; readonly to: string };

const SWAPS: Readonly<Record<string, string>> = {
  "<": "<=", "<=": "<", ">": ">=", ">=": ">", "===": "!==", "!==": "===", "&&": "||", "||": "&&", "+": "-", "-": "+", "*": "/", "/": "*", "%": "*",
};
const OTHER_NAME: Readonly<Record<string, string>> = { every: "some", some: "every", max: "min", min: "max", find: "findLast", findLast: "find" };

/** Every operator, truth value, number and choice of a source that can be turned, each alone; types are left out. */
export function mutationsOf(text: string): readonly Mutation[] {
  const file = ts.createSourceFile("source.ts", text, ts.ScriptTarget.Latest, true);
  const found: Mutation[] = [];
  const change = (start: number, end: number, to: string): void => {
    found.push({ start, line: file.getLineAndCharacterOfPosition(start).line + 1, from: text.slice(start, end), to });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isTypeNode(node) || ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node) || ts.isImportDeclaration(node)) return;
    if (ts.isBinaryExpression(node)) {
      const operator = node.operatorToken;
      const to = SWAPS[operator.getText()];
      if (to !== undefined && !holdsText(node)) change(operator.getStart(), operator.getEnd(), to);
    } else if (ts.isConditionalExpression(node)) {
      change(node.whenTrue.getStart(), node.whenFalse.getEnd(), `${node.whenFalse.getText()} : ${node.whenTrue.getText()}`);
    } else if (ts.isPrefixUnaryExpression(node) && [ts.SyntaxKind.ExclamationToken, ts.SyntaxKind.MinusToken].includes(node.operator)) {
      change(node.getStart(), node.operand.getStart(), "");
    } else if (node.kind === ts.SyntaxKind.TrueKeyword || node.kind === ts.SyntaxKind.FalseKeyword) {
      change(node.getStart(), node.getEnd(), node.kind === ts.SyntaxKind.TrueKeyword ? "false" : "true");
    } else if (ts.isNumericLiteral(node)) {
      change(node.getStart(), node.getEnd(), `(${node.getText()} + 1)`);
    } else if (ts.isPropertyAccessExpression(node) && ts.isCallExpression(node.parent)) {
      const to = OTHER_NAME[node.name.text];
      if (to !== undefined) change(node.name.getStart(), node.name.getEnd(), to);
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return found;
}

/** A `+` between texts has no opposite. */
const holdsText = ({ left, right }: ts.BinaryExpression): boolean => [left, right].some((side) => ts.isStringLiteralLike(side) || ts.isTemplateExpression(side));

export const mutated = (text: string, { start, from, to }: Mutation): string => `${text.slice(0, start)}${to}${text.slice(start + from.length)}`;
