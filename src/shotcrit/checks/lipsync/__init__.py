"""The mouth against what each phone asks for. `check` is the check; `phones` judges single phones, `line` whole lines, `offset` their timing."""
