import { mount } from 'svelte';
import App from './room/App.svelte';
import './palette.css';
import './dim.css';
import './look.css';

const target = document.getElementById('room');
if (target) mount(App, { target });
