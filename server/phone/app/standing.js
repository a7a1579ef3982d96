// How the phone stands: what waits, and in which words the line at the top says so. Each says what happened, what is safe, what to do.
import { device, present } from './account.js'
import { progress } from './exchange.js'
import { clock, count } from './screen.js'
import { read, room, tell } from './store.js'

const day = 24 * 3600 * 1000

// standing counts, in one transaction, so that the numbers always belong together.
export const standing = async () => {
  const [me, who] = [await device(), await present()]
  const n = await read(['entry', 'photo'], async (db) => {
    const waits = await db.entry.by('state').all('unsent')
    const [sent, confirm, held, refused, photos] = await Promise.all([
      db.entry.by('state').count('sent'), db.entry.by('state').count('to_confirm'), db.entry.by('state').all('held'), db.entry.by('state').all('refused'), db.photo.by('sent').count(0)])
    return { unsent: waits.length, oldest: Math.min(...waits.map((e) => e.at)), sent, confirm, held, refused, photos }
  })
  return { ...n, me, who, space: await room() }
}

export const changes = (s) => [s.unsent && count(s.unsent, 'change'), s.photos && count(s.photos, 'photo')].filter(Boolean).join(' and ')

const inHours = (ms) => (Math.abs(ms) >= 48 * 3600e3 ? count(Math.round(Math.abs(ms) / day), 'day') : Math.abs(ms) >= 3600e3 ? `${Math.round(Math.abs(ms) / 3600e3)} h` : `${Math.round(Math.abs(ms) / 60e3)} min`)

// shortOf notes that a picture found no space, or found some.
let short = false
export const shortOf = (yes) => {
  short = yes
  tell('space')
}

// little is the space below which pictures are refused before they are taken.
export const little = 20e6

// line is the one sentence: {mark, says, to, action}.
export const line = (s) => {
  const waits = changes(s), outcome = s.me?.outcome
  const l = { mark: waits ? 'waiting' : 'on_server', says: '', text: '', to: '' }
  const send = () => Object.assign(l, { text: 'Send now', to: '#/waiting' })
  if (!s.me) return { mark: '', says: 'This phone is not enrolled.', text: '', to: '' }
  if (s.me.state === 'revoked') return { mark: 'held', says: `This device was removed. ${waits ? `${capital(waits)} ${s.unsent + s.photos === 1 ? 'was' : 'were'} not sent and ${s.unsent + s.photos === 1 ? 'is' : 'are'} kept for your supervisor.` : 'Everything was sent.'}`, text: '', to: '' }
  if (progress.running && s.unsent > 0) l.says = `Sending ${Math.min(progress.done + 1, progress.of)} of ${progress.of}. You can keep working.`
  else if (progress.running && waits) l.says = `Sending ${waits}. You can keep working.`
  else if (!navigator.onLine || outcome === 'unreachable') {
    l.says = waits ? `No connection. ${capital(waits)} ${s.unsent + s.photos === 1 ? 'is' : 'are'} saved here and will be sent later.` : 'No connection. Your work is saved here and will be sent later.'
    if (navigator.onLine && waits) send()
  } else if (!s.who?.refresh || outcome === 'sign-in-needed') Object.assign(l, { says: waits ? `Sign in to send ${waits}. Nothing is lost.` : 'Sign in to send and fetch. Nothing is lost.', text: 'Sign in', to: '#/sign-in' })
  else if (outcome === 'protocol-too-old') Object.assign(l, { says: `Update needed before sending. You can keep recording.${waits ? ` ${capital(waits)} to send.` : ''}`, text: 'Update', to: '#/waiting' })
  else if (['lane-forked', 'run-forked', 'entry-differs', 'chain-broken', 'bad-hash', 'bad-seal', 'not-canonical', 'bad-frame', 'diverged'].includes(outcome))
    Object.assign(l, { mark: 'held', says: `${capital(waits || 'what is here')} could not be joined to the record. Everything is kept for the supervisor.`, text: 'What to do', to: '#/waiting' })
  else if (waits) {
    l.says = `Saved on this device. ${capital(waits)} to send.`
    if (outcome) l.says += s.me.outcomeSays ? ` Sending stopped: ${s.me.outcomeSays}.` : ''
    send()
  } else if (s.sent || s.confirm) l.says = s.confirm ? `The office copy was restored from a backup. ${count(s.confirm, 'record')} to be confirmed.` : `Sent. ${count(s.sent, 'record')} to be confirmed.`
  else l.says = s.me.lastAt ? `All changes sent. Last checked ${clock(s.me.lastAt)}.` : 'Nothing to send. Not checked yet.'
  return l
}

// warnings are what is said beside the line, in the order in which it matters.
export const warnings = (s) => {
  const out = []
  if (!s.me || s.me.state === 'revoked') return out
  const age = s.unsent ? Date.now() - s.oldest : 0
  if (age > 2 * day) out.push(`Some work on this phone is ${Math.floor(age / day) + 1} days old and not sent. The browser may clear it: find a signal, or save the unsent work as a file.`)
  if (short || (s.space.quota && s.space.free < little)) out.push("Almost no space. New photos can't be saved; notes still can. Free space on the phone.")
  if (Math.abs(s.me.off) > 5 * 60e3) out.push(`This device's clock is ${inHours(s.me.off)} wrong. Records keep the office time as well. Set the time to automatic.`)
  return out
}

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1)
