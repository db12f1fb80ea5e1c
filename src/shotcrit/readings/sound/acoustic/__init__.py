"""The acoustic model that pocketsphinx's wheel carries, evaluated here: features, likelihoods, the free loop of phones, the best way through a line.

pocketsphinx's own search hands on times and a score for the best senone only; with the likelihoods themselves a line can be held against what was really
said, phone by phone, in one go.
"""
