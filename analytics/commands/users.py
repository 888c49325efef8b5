"""users: the accounts of the dashboard; passwords come from the terminal or standard input, not an option."""

import argparse
import getpass
import sys

from analytics.commands.printing import add_json, print_json
from analytics.errors import BadQuestion

NAME = "users"
HELP = "add, list, change or remove the accounts that may sign in, and say who sees technicians' names"
DOES = ("list", "add", "role", "password", "remove", "names")
ROLES = ("look", "settle", "manage")
NOBODY = "There is no account: the dashboard is open, and serves this machine alone."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("do", metavar="DO", choices=DOES, help=f"what to do: {', '.join(DOES)}")
    parser.add_argument(
        "name", metavar="NAME", nargs="?", default="", help="of the account; of `names`, look or settle"
    )
    parser.add_argument(
        "--role", metavar="ROLE", choices=ROLES, help="look, settle (load, settle, decide) or manage"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Do it, and print what there is then."""
    from analytics.accounts import Accounts
    from analytics.audit import command_line

    accounts, by, name = Accounts(arguments.data), command_line(), arguments.name
    if arguments.do == "list":
        rows = accounts.all()
        if arguments.json:
            print_json({"users": rows.to_dicts()})
        else:
            lines = [f"{row['name']}: {row['role']}, since {row['made_at']}" for row in rows.to_dicts()]
            print("\n".join(lines) or NOBODY)
        return
    if arguments.do == "names":
        if name:
            accounts.show_names_from(name, by)
        _tell_names(accounts.names_from(), arguments.json)
        return
    if not name:
        raise BadQuestion(f"Say which account: service-calls users {arguments.do} NAME")
    if arguments.do in ("add", "role") and not arguments.role:
        raise BadQuestion(f"Say which role with --role: {', '.join(ROLES)}.")
    if arguments.do == "add":
        accounts.add(name, arguments.role, _password(), by)
    elif arguments.do == "role":
        accounts.set_role(name, arguments.role, by)
    elif arguments.do == "password":
        accounts.set_password(name, _password(), by)
    else:
        accounts.remove(name, by)
    if arguments.json:
        print_json({"users": accounts.all().to_dicts()})
    elif accounts.exist():
        print(f"Done. Accounts: {', '.join(accounts.all()['name'])}.")
    else:
        print(
            "Done. There is no account any more: the dashboard is open to this machine, and refuses others."
        )


def _tell_names(role: str, as_json: bool) -> None:
    if as_json:
        print_json({"names_from": role})
    elif role == "look":
        print("Everybody who may look sees technicians' names.")
    else:
        print(
            f"Technicians' names are shown to {role} and above; whoever may only look sees codes. A "
            "dashboard that runs makes the copy that holds them by itself."
        )


def _password() -> str:
    """Ask twice at a terminal; else take the first line of standard input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("Password (at least 12 characters): ")
    if getpass.getpass("The same again: ") != password:
        raise BadQuestion("The two passwords differ. Nothing was changed; try again.")
    return password
