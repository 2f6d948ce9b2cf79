"""On the water: rota and turns, outings, catches, returns. (Django's own sessions are elsewhere.)"""
