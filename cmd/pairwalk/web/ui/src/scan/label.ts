// What a label says is for the process to judge: it verifies check digits and drops
// secrets before anything is kept. The raw text goes no further than these requests.
import type { Label } from '../api'
import { post, Refused, Unreached } from '../request'
import { language } from '../state'
import { t } from '../words'
import { said, type Code } from './codes'

// Outcome is what came of a label: one serial taken, several to choose among, or
// none. theirs are the process's words, which are English.
export interface Outcome {
  taken: Label | null
  choices: Label[]
  ours: string[]
  theirs: string[]
  judged: boolean // the process has judged the text
  secret: boolean // and found a secret in it
}

export const outcomeOf = (words: string): Outcome => ({ taken: null, choices: [], ours: [words], theirs: [], judged: false, secret: false })

type Answer = { label: Label; refused?: undefined } | { label?: undefined; refused: string }

async function ask(text: string): Promise<Answer> {
  try {
    return { label: await post<Label>('label', { text }) }
  } catch (problem) {
    if (problem instanceof Refused) return { refused: problem.message.replace(/^read label: /, '') }
    throw problem
  }
}

// readCodes asks what the codes of one picture say.
export async function readCodes(codes: Code[]): Promise<Outcome> {
  const texts = [...new Set(codes.map(said))]
  return texts.length ? readTexts(texts) : outcomeOf(t('scan.nothing'))
}

// readTexts asks for the texts together, since parts of one thing may stand side by
// side, and for each alone, to offer what the process won't choose by itself.
export async function readTexts(texts: string[]): Promise<Outcome> {
  try {
    const [whole, ...alone] = await Promise.all([ask(texts.join('\n')), ...(texts.length > 1 ? texts.map(ask) : [])])
    return weigh(whole!, alone)
  } catch (problem) {
    if (problem instanceof Unreached) return outcomeOf(t('scan.away'))
    return outcomeOf(t('scan.unread'))
  }
}

// weigh makes an outcome of the answers. A secret that only shows when the codes
// are read together is in pieces in the single ones: then none of those is offered.
export function weigh(whole: Answer, alone: Answer[]): Outcome {
  const pieces = hints(whole) && !alone.some(hints)
  const choices: Label[] = []
  for (const { label } of pieces ? [whole] : [whole, ...alone]) {
    if (label?.serial && !choices.some((x) => x.serial === label.serial || x.eui64 === label.serial)) choices.push(label)
  }
  const secret = [whole, ...alone].some((x) => x.label?.secret)
  const sure = whole.label && (whole.label.serial || ![whole, ...alone].some(hints))
  if (sure && choices.length === 1) return { taken: choices[0]!, choices: [], judged: true, secret, ...words(secret, false, choices[0]!.notes) }
  if (choices.length) return { taken: null, choices, judged: true, secret, ...words(secret, false, whole.label ? [] : [whole.refused!]) }
  return { taken: null, choices, judged: true, secret, ...words(secret, true, whole.label ? whole.label.notes : [whole.refused!]) }
}

// words leaves out of ours what theirs say already, in the language of the page.
function words(secret: boolean, type: boolean, theirs: string[]): Pick<Outcome, 'ours' | 'theirs'> {
  const told = (what: RegExp): boolean => language.value === 'en' && theirs.some((w) => what.test(w))
  const ours: string[] = []
  if (secret && !told(/secret/)) ours.push(t('scan.secret'))
  if (type && !told(/type the/)) ours.push(t('scan.type'))
  return { ours, theirs }
}

const hints = (x: Answer): boolean => (x.label ? x.label.secret : /secret/.test(x.refused!))
