"use client";

import type { ReactNode } from "react";
import { Button } from "@/app/ui/button";

/** Opens the browser's own print window. */
export const PrintButton = ({ children }: { readonly children: ReactNode }) => <Button onClick={() => window.print()}>{children}</Button>;
