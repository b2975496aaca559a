using CashEvents.Cash;

return await CashProgram.RunAsync(args, Surroundings.OfThisProcess()).ConfigureAwait(false);
