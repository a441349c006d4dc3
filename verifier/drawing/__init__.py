"""What is asked for: the pour's drawing values, bar call-outs and their readers."""
