global using CashEvents.Domain.Amounts;
global using CashEvents.Domain.Books;
global using CashEvents.Domain.Plans;
global using CashEvents.Sheets.Naming;
global using CashEvents.Sheets.Printing;
