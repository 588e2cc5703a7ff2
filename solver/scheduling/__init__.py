"""Which batch goes into which cooker when: candidates, problem, model, lexicographic solve."""
