from stockyard.cli.main import main

main()
