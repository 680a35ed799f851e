// What stands in a picture of a label, between the page and its worker.

export interface Code {
  text: string
  gs1: boolean // the symbol itself says that it holds a GS1 element string
  product: boolean // the symbol is of those that hold a product's number and nothing else
}

// Asked is what the worker is asked: to read a picture, turned by each of these
// angles until something is found.
export interface Asked { id: number; picture: ImageBitmap; turns: number[] }

// Answered is what it says; or that it can't work at all.
export type Answered =
  | { id: number; codes: Code[] }
  | { id: number; problem: string }
  | { broken: string }

// said is a code as the process is to read it. A product's number says by its
// brackets that it is none of a unit; ]d2 is the identifier of a symbol that holds
// a GS1 element string (ISO/IEC 15424).
export function said(code: Code): string {
  if (code.product && /^\d{8,14}$/.test(code.text)) return `(01)${code.text.padStart(14, '0')}`
  return code.gs1 ? `]d2${code.text}` : code.text
}

// fit is the size of a picture that is at most so long.
export function fit(width: number, height: number, long: number): [number, number] {
  const by = Math.min(1, long / Math.max(width, height, 1))
  return [Math.max(1, Math.round(width * by)), Math.max(1, Math.round(height * by))]
}
