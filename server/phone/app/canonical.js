// The one text that stands for a value: keys in ASCII and sorted, no spaces, whole numbers only. Measured numbers travel as the
// text that was typed, so no floating-point number is ever written. What JSON.stringify does to a text is exactly what is asked for.

const whole = (text) => {
  if (!text.isWellFormed()) throw new Error('text is not valid')
  return JSON.stringify(text)
}

export const canonical = (v) => {
  if (v === null) return 'null'
  switch (typeof v) {
    case 'boolean':
      return v ? 'true' : 'false'
    case 'string':
      return whole(v)
    case 'number':
      if (!Number.isSafeInteger(v)) throw new Error(`${v} is no whole number that every reader keeps`)
      return String(v)
    case 'object':
      break
    default:
      throw new Error(`a ${typeof v} has no canonical form`)
  }
  if (Array.isArray(v)) return `[${v.map(canonical).join(',')}]`
  const keys = Object.keys(v).sort()
  for (const k of keys) if (!/^[\x20-\x7e]*$/.test(k)) throw new Error(`key ${k} is not plain ASCII`)
  return `{${keys.map((k) => `${whole(k)}:${canonical(v[k])}`).join(',')}}`
}
