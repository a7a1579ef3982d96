// A form as the server described it, filled in and recorded here. Bad input gets the sentences that came with the form.
import { readNumber, within } from './number.js'
import { prepare } from './picture.js'
import { h, picture } from './screen.js'
import { full, room, write } from './store.js'
import { little, shortOf } from './standing.js'

const idOf = (name) => `f-${name.replaceAll('.', '-')}`

const described = (f) => (f.hint ? { 'aria-describedby': `${idOf(f.name)}-hint` } : {})

const input = (f) => {
  const id = idOf(f.name)
  switch (f.kind) {
    case 'area':
      return h('textarea', { id, name: f.name, rows: 3, ...described(f) }, f.value ?? '')
    case 'files':
      return [h('input', { type: 'file', id, name: f.name, accept: 'image/*', multiple: true, ...described(f) }), h('p', { class: 'chosen', 'data-for': id })]
    case 'select':
      return h('select', { id, name: f.name, ...described(f) }, f.options.map((o) => h('option', { value: o.value, selected: o.checked }, o.label)))
    case 'password':
      return h('input', { type: 'password', id, name: f.name, autocomplete: f.auto ?? 'off', inputmode: f.inputmode, ...described(f) })
  }
  return h('span', { class: 'entry' },
    h('input', { type: 'text', id, name: f.name, value: f.value ?? '', autocomplete: f.auto ?? 'off', autocapitalize: f.auto ? 'none' : undefined, class: f.kind === 'decimal' ? 'decimal' : undefined, inputmode: f.kind === 'decimal' ? 'decimal' : undefined, ...described(f) }),
    f.unit && h('span', { class: 'unit' }, f.unit))
}

const field = (f) => {
  const id = idOf(f.name)
  const hint = f.hint && h('p', { class: 'hint', id: `${id}-hint` }, f.hint)
  if (f.kind === 'choice')
    return h('fieldset', { class: 'field', id, 'data-name': f.name }, h('legend', {}, f.label), hint,
      f.options.map((o, i) => h('label', { class: 'pick' }, h('input', { type: 'radio', id: `${id}-${i}`, name: f.name, value: o.value, checked: o.checked }), h('span', {}, o.label, o.hint && h('span', { class: 'hint' }, o.hint)))))
  return h('div', { class: 'field', 'data-name': f.name }, h('label', { for: id }, f.label), hint, input(f))
}

// values reads a form: texts as typed, numbers as text, with the complaints about what can't be taken.
const values = (form, fields) => {
  const v = {}, wrong = []
  for (const f of fields) {
    if (f.kind === 'files') continue
    const typed = f.kind === 'choice' ? (form.querySelector(`[name="${CSS.escape(f.name)}"]:checked`)?.value ?? '') : form.elements[f.name].value
    try {
      const text = f.kind === 'decimal' ? readNumber(typed, f.label) : f.kind === 'password' ? typed : typed.trim()
      if (text === '' && f.missing) throw new Error(f.missing)
      if (text !== '' && f.kind === 'decimal' && !within(text, f.range)) throw new Error(f.refused)
      if (text !== '' || f.kind === 'choice') v[f.name] = text
    } catch (err) {
      wrong.push([f.name, err.message])
    }
  }
  return [v, wrong]
}

// formOf makes the form. save gets the values and the photos and throws a sentence, or {field: sentence}.
export const formOf = (described, save) => {
  const photos = []
  const form = h('form', { class: 'form', novalidate: true }, described.fields.map(field), h('p', { class: 'act' }, h('button', { class: 'do' }, described.submit)))
  form.dirty = () => photos.length > 0 || [...form.elements].some((e) => ('defaultValue' in e && e.type !== 'radio' && e.value !== e.defaultValue && e.value !== '') || (e.type === 'radio' && e.checked !== e.defaultChecked))
  form.addEventListener('change', (event) => event.target.type === 'file' && choose(form, event.target, photos))
  form.addEventListener('submit', async (event) => {
    event.preventDefault()
    if (form.busy) return
    form.busy = true
    try {
      await form.choosing
      const [v, wrong] = values(form, described.fields)
      for (const f of described.fields) if (f.kind === 'files' && f.missing && photos.length === 0) wrong.push([f.name, f.missing])
      if (wrong.length) return complain(form, wrong)
      form.saved = true // before the page is left: what was typed is not lost any more
      await save(v, photos)
    } catch (err) {
      form.saved = false
      complain(form, err.fields ?? [['', full(err) ? noSpace : err.message]])
    } finally {
      form.busy = false
    }
  })
  return form
}

export const noSpace = 'There is no space left on this phone, so this was not saved. All that was saved before is kept. Free space, or record it without the photo.'

const tight = "Almost no space. New photos can't be saved; notes still can."

// hold keeps a picture before anything names it: whether there is space for it is then known before the record is made. What a browser
// says of its space is often a guess.
const hold = async (p) => {
  try {
    await write(['photo'], async (db) => (await db.photo.get(p.h)) ?? db.photo.put({ ...p, job: '', by: '', sent: -1, at: Date.now() }))
    shortOf(false)
  } catch (err) {
    if (!full(err)) throw err
    shortOf(true)
    throw new Error(tight)
  }
}

const choose = (form, box, photos) => {
  const work = async () => {
    const at = form.querySelector('.chosen')
    for (const file of [...box.files]) {
      try {
        if ((await room()).free < little) throw new Error(tight)
        const p = await prepare(file)
        await hold(p)
        if (!photos.some((q) => q.h === p.h)) photos.push(p)
        at.append(picture(new Blob([p.thumb], { type: 'image/jpeg' }), { alt: `Photo ${photos.length}, kept with this form` }))
      } catch (err) {
        complain(form, [[box.name, err.message]])
      }
    }
    box.value = ''
  }
  form.choosing = Promise.resolve(form.choosing).then(work)
}

// complain puts the sentences on top, the first under the reader's eyes, and beside their fields.
export const complain = (form, wrong) => {
  const main = document.querySelector('#main')
  main.querySelector('.errors')?.remove()
  for (const e of form.querySelectorAll('.error')) e.remove()
  for (const e of form.querySelectorAll('.bad')) e.classList.remove('bad')
  const top = h('div', { class: 'errors', role: 'alert', tabindex: -1 }, h('h2', {}, 'To correct first'),
    h('ul', {}, wrong.map(([name, says]) => h('li', {}, h('a', { href: location.hash, onclick: (e) => { e.preventDefault(); (form.elements[name]?.[0] ?? form.elements[name] ?? form.querySelector('input, textarea, button'))?.focus() } }, says)))))
  main.prepend(top)
  for (const [name, says] of wrong) {
    const at = name && form.querySelector(`[data-name="${CSS.escape(name)}"]`)
    if (!at) continue
    at.classList.add('bad')
    at.querySelector('label, legend').after(h('p', { class: 'error', id: `${idOf(name)}-error` }, says))
  }
  top.focus()
}
