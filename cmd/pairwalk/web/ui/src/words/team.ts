export { en, de } from '../team/words'
