def check(event, plan):
    return []
