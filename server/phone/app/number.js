// Numbers as people write them. They are kept as the text that was typed; 12.60 stays 12.60.
const plain = /^-?[0-9]+(\.[0-9]+)?$/

// readNumber gives the text of a number, '' where nothing was written; what is wrong is thrown as a sentence.
export const readNumber = (typed, label) => {
  const s = typed.trim()
  if (s === '') return ''
  const point = s.replace(',', '.')
  if (s.split(',').length === 2 && plain.test(point)) throw new Error(`${label}: write ${point} with a point if that is meant.`)
  if (!plain.test(s) || s.length > 20) throw new Error(`${label}: write a number only, such as 12.6.`)
  return /^-?0[0-9]/.test(s) ? String(Number(s)) : s
}

// share turns per cent into a share of 1.
export const share = (percent) => {
  const v = Math.round(Number(percent) * 1e7) / 1e9
  return v.toFixed(9).replace(/\.?0+$/, '')
}

// within tells whether a number lies in a range as the server describes it.
export const within = (text, range) => {
  const v = Number(text)
  return !range || ((range.max === undefined || v <= range.max) && (range.above ? v > range.min : v >= range.min))
}
