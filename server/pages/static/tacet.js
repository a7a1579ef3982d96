// Small comforts. Every page does its work without them.

// A second tap on a slow device must not send a form twice.
for (const form of document.querySelectorAll('form')) {
  let sent = false
  form.addEventListener('submit', (event) => {
    if (sent) event.preventDefault()
    sent = true
  })
}
// Whoever comes back with the browser's own button may send again.
window.addEventListener('pageshow', (event) => { if (event.persisted) location.reload() })

// Photos are shown as soon as they are chosen, before anything is sent.
for (const input of document.querySelectorAll('input[type=file]')) {
  const place = document.querySelector(`[data-for="${input.id}"]`)
  if (!place) continue
  input.addEventListener('change', () => {
    place.replaceChildren()
    for (const file of input.files) {
      const url = URL.createObjectURL(file)
      const img = document.createElement('img')
      img.alt = file.name
      img.addEventListener('load', () => URL.revokeObjectURL(url))
      img.src = url
      place.append(img)
    }
  })
}

// A link to a layer or a check opens what it points into.
const open = () => {
  const target = location.hash && document.getElementById(location.hash.slice(1))
  const closed = target && (target.querySelector('details') || target.closest('details'))
  if (closed) closed.open = true
}
window.addEventListener('hashchange', open)
open()
