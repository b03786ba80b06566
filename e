timeout: failed to run command ‘./p6’: No such file or directory
Command exited with non-zero status 127
0.00 0.00 1684 KB
