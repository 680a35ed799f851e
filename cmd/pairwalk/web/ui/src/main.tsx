import './page.css'
import { render } from 'preact'
import { Shell } from './shell'
import { follow } from './changes'
import { hasToken, takeToken } from './request'
import { stranger } from './state'

takeToken()
if (!hasToken()) stranger.value = true
addEventListener('hashchange', () => { if (takeToken()) location.reload() })
render(<Shell />, document.getElementById('page')!)
void follow()
