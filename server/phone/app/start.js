// Coming in: enrolment, sign-in, changing over.
import { able, changeOver, device, enrol, everybody, present, setPin, signIn, signOut } from './account.js'
import { formOf } from './form.js'
import { answer, button, h, show, where } from './screen.js'
import { NoConnection } from './wire.js'

const plainly = (err) => {
  throw err instanceof NoConnection ? new Error('No connection. Try again where there is a signal.') : err
}

export const unable = () =>
  show('This browser', answer('This browser can only record with a signal.'),
    h('p', { class: 'also' }, 'It lacks the kind of key with which a phone signs what it records (Ed25519), or this address is not reached over HTTPS. Update the browser, or use the pages of the office while there is a signal.'),
    h('p', { class: 'act' }, h('a', { class: 'do', href: '/' }, 'Open the office’s pages')))

export const enrolment = async (code = '') => {
  if (!(await able())) return unable()
  if (await device()) return show('Enrolled', answer('This phone is enrolled already.'), h('p', { class: 'act' }, h('a', { class: 'do', href: '#/' }, 'To the jobs')))
  const form = formOf(
    { submit: 'Enrol this phone', fields: [
      { kind: 'text', name: 'code', label: 'One-time code', hint: 'The office shows it on the page People, you find one on your account. It is good once.', value: code, missing: 'Fill in: one-time code.' },
      { kind: 'text', name: 'name', label: 'Name of this phone', hint: 'As the office shall know it, such as: Idris, phone.', value: '' },
    ] },
    async (v) => {
      await enrol(v.code, v.name ?? '').catch(plainly)
      location.hash = '#/take'
    },
  )
  show('Enrol this phone', answer('Enrol this phone'), h('p', { class: 'also' }, 'It makes a key of its own, which stays in this browser. Then it records for weeks without a signal.'), form)
}

export const signInPage = async () => {
  if (!(await device())) return enrolment()
  const people = await everybody(), who = await present()
  const byPassword = formOf(
    { submit: 'Sign in', fields: [
      { kind: 'text', name: 'login', label: 'Login', value: who?.login ?? '', auto: 'username', missing: 'Fill in: login.' },
      { kind: 'password', name: 'password', label: 'Password', auto: 'current-password', missing: 'Fill in: password.' },
    ] },
    async (v) => {
      await signIn(v.login, v.password, false).catch(plainly)
      location.hash = '#/'
    },
  )
  const pins = people.filter((p) => p.pin).map((p) =>
    h('section', { class: 'job' }, h('h2', {}, p.name), formOf(
      { submit: `Go on as ${p.name}`, fields: [{ kind: 'password', inputmode: 'numeric', name: `pin.${p.id}`, label: `PIN of ${p.name}`, missing: 'Fill in: PIN.' }] },
      async (v) => {
        await changeOver(p.id, v[`pin.${p.id}`])
        location.hash = '#/'
      },
    )))
  show('Sign in', answer('Who uses this phone?'), h('p', { class: 'also' }, 'What was recorded here and is not sent yet is kept, whoever recorded it.'),
    pins, h('section', { class: 'job' }, h('h2', {}, pins.length ? 'Somebody else, or by password' : 'By password, with a signal'), byPassword))
}

export const mine = async () => {
  const who = await present(), me = await device()
  const pin = formOf(
    { submit: who.pin ? 'Change the PIN' : 'Set the PIN', fields: [{ kind: 'password', inputmode: 'numeric', name: 'pin', label: 'PIN', hint: 'Six to eight digits, for this phone only. It is set with a signal.', missing: 'Fill in: PIN.' }] },
    async (v) => {
      await setPin(v.pin).catch(plainly)
      location.hash = '#/'
    },
  )
  show('You on this phone', where(['Jobs', '#/']), answer(who.name), h('p', { class: 'also' }, `Login ${who.login}, ${who.role}, of ${me.firm}.`),
    h('section', { class: 'job' }, h('h2', {}, 'A PIN, where several people use this phone'), pin),
    h('section', { class: 'job' }, h('h2', {}, 'Sign out'), h('p', {}, 'Your jobs and records are hidden from the next one. Nothing that is not sent is deleted; it is sent when anybody signs in here.'),
      button('Sign out', async () => { await signOut(); location.hash = '#/sign-in' })))
}
